"""What rowers have rowed: results, and what each of them last held.

Conventions
    A split is whole milliseconds per 500 m, a rate whole strokes per minute.
    Names are one and the same whatever their capitals and spaces.

Contents
    Result, Results             one row of a results file, the whole of it
    name_key                    what two spellings of one name share
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

from cuegen.errors import ResultsError, Where
from cuegen.plan.nearest import nearest


@dataclass(frozen=True, slots=True)
class Result:
    """What one rower held: a split (ms per 500 m) at a rate (strokes per minute) on a day.

    metres: length of the piece, if noted. row: where it stood, left out of equality.
    """

    rower: str
    date: date
    rate: int
    split_ms: int
    watts: float | None = None
    metres: float | None = None
    session: str | None = None
    segment: str | None = None
    note: str | None = None
    row: int = field(default=0, compare=False)


@dataclass(frozen=True)
class Results:
    """A results file, in its own order."""

    rows: tuple[Result, ...]
    file: str | None = None

    @cached_property
    def rowers(self) -> tuple[str, ...]:
        """Every rower once, as first spelled, in order of appearance."""
        first: dict[str, str] = {}
        for row in self.rows:
            first.setdefault(name_key(row.rower), row.rower)
        return tuple(first.values())

    def knows(self, rower: str) -> bool:
        """Say whether this rower has any result."""
        return name_key(rower) in {name_key(name) for name in self.rowers}

    def nearest(self, rower: str) -> str | None:
        """Return the rower whose name is most like this one, None where none is close."""
        return nearest(rower, self.rowers)

    def of(self, rower: str) -> tuple[Result, ...]:
        """Return this rower's results, oldest first, the later row last on one day.

        Raises ResultsError, with the nearest name, for a rower without any.
        """
        mine = [row for row in self.rows if name_key(row.rower) == name_key(rower)]
        if not mine:
            raise self._unknown(rower)
        return tuple(sorted(mine, key=lambda row: row.date))

    def last_held(self, rower: str, rate: int) -> Result | None:
        """Return what a rower last held at a rate, None if they never rowed it.

        The most recent day counts; on one day, the later row. Raises
        ResultsError, with the nearest name, for a rower without any result.
        """
        at_rate = [row for row in self.of(rower) if row.rate == rate]
        return at_rate[-1] if at_rate else None

    def _unknown(self, rower: str) -> ResultsError:
        near = self.nearest(rower)
        known = f"It has {', '.join(self.rowers)}." if self.rowers else "It has no rows yet."
        return ResultsError(
            f"no results of a rower of that name{f'; the nearest is {near!r}' if near else ''}",
            where=Where(file=self.file, text=rower),
            remedy=known,
        )


def name_key(name: str) -> str:
    """Return what two spellings of one name share: no capitals, single spaces."""
    return " ".join(name.split()).casefold()
