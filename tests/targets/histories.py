"""Histories for tests: an invented rower's block, and any history there can be.

The block has four weeks of four pieces, one target missed and one week easy.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from hypothesis import strategies as st

from cuegen.clock import parse_split
from cuegen.targets.history import BlockWeek, History, NextPiece, RowedPiece


def ms(text: str) -> int:
    split_ms = parse_split(text)
    assert split_ms is not None
    return split_ms


WEEKS = (
    BlockWeek(1, "Find the splits", ""),
    BlockWeek(2, "Two lower", "same splits, two strokes lower"),
    BlockWeek(3, "Deload", "seconds slower on purpose", easy=True),
    BlockWeek(4, "Back up", "the rates of week 1, a second and a half faster"),
)

_ROWED = """
1 2031-10-07 1 18 2:16.0 2:16.2
1 2031-10-07 2 20 2:12.4 2:12.5
1 2031-10-09 1 22 2:08.9 2:09.0
1 2031-10-09 2 24 2:05.6 2:05.5
2 2031-10-14 1 16 2:16.3 2:16.0
2 2031-10-14 2 18 2:12.2 2:12.4
2 2031-10-16 1 20 2:09.0 2:08.9
2 2031-10-16 2 22 2:05.9 2:05.6
3 2031-10-21 1 18 2:18.8 2:19.0
3 2031-10-21 2 20 2:15.1 2:15.0
3 2031-10-23 1 22 2:11.6 2:12.0
3 2031-10-23 2 24 2:08.9 2:09.0
4 2031-10-28 1 18 2:11.0 2:11.5
4 2031-10-28 2 20 2:08.1 2:08.0
4 2031-10-30 1 22 2:05.2 2:05.0
4 2031-10-30 2 24 2:03.9 2:02.5
"""
"""Week, day, segment, rate, held, target."""


def rowed() -> tuple[RowedPiece, ...]:
    found = []
    for line in _ROWED.split("\n")[1:-1]:
        week, day, segment, rate, held, target = line.split()
        piece = RowedPiece(
            int(week), date.fromisoformat(day), int(segment), int(rate), ms(held), ms(target)
        )
        found.append(replace(piece, heart_rate=128 + 2 * piece.rate, felt_pct=60 + piece.rate))
    return tuple(found)


NEXT = (
    NextPiece(16, ms("2:11.0"), 75, "same splits as week 4, two strokes lower"),
    NextPiece(18, ms("2:08.1"), 80, "same splits as week 4, two strokes lower"),
    NextPiece(20, ms("2:05.2"), 85, "same splits as week 4, two strokes lower"),
    NextPiece(24, None, 90, "the target at 24 was missed: effort leads"),
)


def history(**changes: object) -> History:
    """Return the block of Maren Holt, who does not exist."""
    made = History("Maren Holt", "Tern autumn", WEEKS, rowed(), NEXT)
    return replace(made, **changes)  # type: ignore[arg-type]


def piece(
    rate: int = 20, held: str = "2:10.0", target: str | None = None, *, week: int = 1, day: int = 1
) -> RowedPiece:
    """Return one piece of October 2031."""
    asked = None if target is None else ms(target)
    return RowedPiece(week, date(2031, 10, day), None, rate, ms(held), asked)


NAMES = st.text(st.sampled_from("Abc d\u00e9\u738b<&'\"$_,=\u202e\t"), max_size=90)
"""What people write, without digits, so that a digit is never theirs."""


@st.composite
def histories(draw: st.DrawFn) -> History:
    """Any history: no pieces or many, weeks known or not, targets, easy weeks, or none."""
    numbers = draw(st.lists(st.integers(1, 9), unique=True, max_size=5).map(sorted))
    weeks = [BlockWeek(one, draw(NAMES), draw(NAMES), draw(st.booleans())) for one in numbers]
    at = st.tuples(st.integers(1, 9), st.integers(0, 6), st.integers(14, 34))
    pieces = []
    for week, day, rate in sorted(draw(st.lists(at, max_size=14))):
        split_ms = draw(st.integers(85_000, 190_000))
        target_ms = draw(st.none() | st.integers(split_ms - 3_000, split_ms + 3_000))
        on = date(2031, 1, 6) + timedelta(7 * week + day)
        heart, felt = draw(st.none() | st.integers(60, 200)), draw(st.none() | st.integers(10, 100))
        pieces.append(RowedPiece(week, on, None, rate, split_ms, target_ms, heart, felt))
    following = st.builds(
        NextPiece,
        st.none() | st.integers(14, 34),
        st.none() | st.integers(85_000, 190_000),
        st.integers(40, 100),
        NAMES,
    )
    then = tuple(draw(st.lists(following, max_size=9)))
    return History(draw(NAMES), draw(NAMES), tuple(weeks), tuple(pieces), then)
