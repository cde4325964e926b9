"""The results log: what every rower held, kept in one file on this machine.

    from cuegen.log import LogEntry, open_log

    with open_log("results.db") as log:
        log.add([LogEntry("Maren Holt", date(2031, 5, 24), rate=20, split_ms=125_500)])
        cuegen.compile_sheet("plan.yaml", results=log.results(), rower="Maren Holt")

It stands beside the flow of a plan: it knows `targets/`, and none of the stages
knows it. They are handed `Results`, wherever those come from.
"""

from cuegen.log.entry import LogEntry
from cuegen.log.place import default_log_path, is_log
from cuegen.log.store import Log, open_log

__all__ = ["Log", "LogEntry", "default_log_path", "is_log", "open_log"]
