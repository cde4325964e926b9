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

    metres: length of the piece, if noted. heart_rate: beats per minute. felt_pct: how hard
    it felt, per cent. row: where it stood, left out of equality.
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
    heart_rate: int | None = None
    felt_pct: int | None = None


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

    @cached_property
    def _by_rower(self) -> dict[str, tuple[Result, ...]]:
        """Each rower's results by day, looked up once: a log may hold a hundred thousand."""
        found: dict[str, list[Result]] = {}
        for row in self.rows:
            found.setdefault(name_key(row.rower), []).append(row)
        return {key: tuple(sorted(rows, key=lambda row: row.date)) for key, rows in found.items()}

    def before(self, day: date) -> Results:
        """Return the results of earlier days, in the same order."""
        return Results(tuple(row for row in self.rows if row.date < day), self.file)

    def knows(self, rower: str) -> bool:
        """Say whether this rower has any result."""
        return name_key(rower) in self._by_rower

    def nearest(self, rower: str) -> str | None:
        """Return the rower whose name is most like this one, None where none is close."""
        return nearest(rower, self.rowers)

    def of(self, rower: str) -> tuple[Result, ...]:
        """Return this rower's results, oldest first, the later row last on one day.

        Raises ResultsError, with the nearest name, for a rower without any.
        """
        mine = self._by_rower.get(name_key(rower))
        if mine is None:
            raise self._unknown(rower)
        return mine

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
