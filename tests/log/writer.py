"""A process that writes to a log until it is done or killed: `writer.py PATH ROWER SESSIONS`.

It says `ready` once, and then the number of each batch as soon as it is reported
written. Run by tests/log/test_crash.py.
"""

from __future__ import annotations

import sys
from datetime import date, timedelta

from cuegen.log import LogEntry, open_log

PIECES = 4
"""Results in a session, and so in a batch."""


def session(rower: str, number: int) -> list[LogEntry]:
    day = date(2031, 1, 1) + timedelta(number)
    return [
        LogEntry(rower, day, rate=17 + 2 * piece, split_ms=130_000, segment=piece + 1)
        for piece in range(PIECES)
    ]


def main(path: str, rower: str, sessions: int) -> None:
    print("ready", flush=True)
    for number in range(sessions):
        with open_log(path) as log:
            batch = log.add(session(rower, number))
        print(batch, flush=True)


def forget(path: str, rower: str) -> None:
    print("ready", flush=True)
    with open_log(path) as log:
        log.forget(rower)
    print("forgotten", flush=True)


if __name__ == "__main__":
    if sys.argv[1] == "forget":
        forget(*sys.argv[2:])
    else:
        main(sys.argv[1], sys.argv[2], int(sys.argv[3]))
