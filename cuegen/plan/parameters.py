"""Parameters of ready-made sessions: named, with a default, a range and a line of help.

Conventions
    Values are whole numbers: times in milliseconds, splits in milliseconds per
    500 m, rates in strokes per minute, efforts in per cent. `Parameter.read` takes
    them as a coach writes them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from cuegen.clock import MS_PER_S, clock_text, parse_clock, parse_split
from cuegen.errors import PlanError, Where
from cuegen.plan.model import SplitTarget
from cuegen.plan.nearest import offer
from cuegen.plan.notation_text import target_text


class Unit(StrEnum):
    """How a parameter is written; the value is what help shows behind its name."""

    TIME = "m:ss"
    SPLIT = "m:ss.t per 500 m"
    RATE = "spm"
    METRES = "m"
    PER_CENT = "%"
    COUNT = ""
    SECONDS = "s per 500 m"


_SUFFIXES = {Unit.METRES: "m", Unit.PER_CENT: "%"}


@dataclass(frozen=True, slots=True)
class Parameter:
    """One parameter. default None: it is left out unless given."""

    name: str
    default: int | None
    low: int
    high: int
    help: str
    unit: Unit = Unit.COUNT

    def read(self, text: str) -> int:
        """Return the value of what a coach wrote, checked. Raises PlanError."""
        value = self._value(text.strip())
        if value is None:
            raise PlanError(
                f"{self.name} cannot be read",
                where=Where(text=text),
                remedy=f"Write it like {self.text(self.default or self.low)}.",
            )
        return self.check(value)

    def _value(self, text: str) -> int | None:
        if self.unit is Unit.TIME:
            return parse_clock(text)
        if self.unit is Unit.SPLIT:
            return parse_split(text)
        digits = text.removesuffix(_SUFFIXES.get(self.unit, "")).strip()
        return int(digits) if digits.isascii() and digits.isdigit() and len(digits) < 10 else None

    def check(self, value: int) -> int:
        """Return the value if it lies in the range. Raises PlanError."""
        uneven = self.unit is Unit.TIME and value % MS_PER_S
        if not self.low <= value <= self.high or uneven:
            raise PlanError(
                f"{self.name} is out of range",
                where=Where(text=self.text(value)),
                remedy=f"Give {self.text(self.low)} to {self.text(self.high)}.",
            )
        return value

    def text(self, value: int) -> str:
        """Return a value as a coach writes it."""
        if self.unit is Unit.TIME:
            return clock_text(value)
        if self.unit is Unit.SPLIT:
            return target_text(SplitTarget(value))
        return f"{value}{_SUFFIXES.get(self.unit, '')}"


@dataclass(frozen=True, slots=True)
class Values:
    """The checked values of a shape's parameters."""

    given: Mapping[str, int | None]

    def __getitem__(self, name: str) -> int:
        value = self.given[name]
        assert value is not None, f"{name} has no default"
        return value

    def optional(self, name: str) -> int | None:
        """Return a value that may be left out."""
        return self.given[name]

    def clock(self, name: str) -> str:
        """Return a time as m:ss."""
        return clock_text(self[name])


def checked(
    parameters: tuple[Parameter, ...], given: Mapping[str, int | str | None], what: str
) -> Values:
    """Return the values of all parameters: those given (texts are read), else the defaults."""
    known = {parameter.name: parameter for parameter in parameters}
    values: dict[str, int | None] = {name: spec.default for name, spec in known.items()}
    for name, value in given.items():
        if name not in known:
            raise PlanError(
                f"{what} has no such parameter", where=Where(text=name), remedy=offer(name, known)
            )
        if isinstance(value, str):
            values[name] = known[name].read(value)
        elif value is not None:
            values[name] = known[name].check(value)
    return Values(values)
