"""Numbers as they are said in a boat house: splits, rates, times, metres, watts.

Conventions
    Pure functions of whole milliseconds, metres, watts, per cent. What is said
    is true of the value to the precision that the words carry: a split to its
    tenth, a time to its second or with "just over", "just under", "about".
    Everything that is said stands in one table, SPOKEN, by language.

Contents
    Precision, TimeValue, MetreValue    what a time or a distance is good for
    SpokenForms                         the forms a language must have
    SPOKEN, spoken_forms                the table, and its guarded look-up
    base_language                       "en" of "en-GB"

Sources
    Spoken splits ("two oh four point five", "two minutes flat"): common practice,
    no source. Cardinals: the num2words library, which knows no "oh".
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol

from num2words import num2words

from cuegen.clock import MS_PER_S
from cuegen.errors import PhraseError, Where
from cuegen.plan.model import Rate


class Precision(StrEnum):
    """How near the spoken value lies to the true one."""

    EXACT = "exact"
    OVER = "over"
    UNDER = "under"
    ABOUT = "about"


@dataclass(frozen=True, slots=True)
class TimeValue:
    """A length of time, spoken to the second."""

    ms: int
    precision: Precision = Precision.EXACT


@dataclass(frozen=True, slots=True)
class MetreValue:
    metres: int
    precision: Precision = Precision.EXACT


class SpokenForms(Protocol):
    """What a language must be able to say."""

    def split(self, split_ms: int) -> str:
        """Say a split in milliseconds per 500 m, rounded half up to its tenth."""
        ...

    def rate(self, rate: Rate) -> str:
        """Say strokes per minute, one rate or a band."""
        ...

    def time(self, value: TimeValue) -> str:
        """Say a length of time, rounded half up to its second."""
        ...

    def metres(self, value: MetreValue) -> str:
        """Say a distance with its unit."""
        ...

    def watts(self, watts: int) -> str:
        """Say a power with its unit."""
        ...

    def strokes(self, strokes: float) -> str:
        """Say a number of strokes, as the round figure that it is."""
        ...

    def count(self, number: int) -> str:
        """Say a whole number."""
        ...

    def percent(self, percent: int) -> str:
        """Say a percentage."""
        ...

    def step(self, change_ms: int) -> str:
        """Say a change of split, negative is quicker; zero has no form (ValueError)."""
        ...


_NEARNESS = {
    Precision.EXACT: "",
    Precision.OVER: "just over ",
    Precision.UNDER: "just under ",
    Precision.ABOUT: "about ",
}


class _English:
    """British trade English: "seven hundred and fifty metres"."""

    def count(self, number: int) -> str:
        if number < 0:
            raise ValueError(f"{number} is not a count")
        return str(num2words(number, lang="en")).replace(",", "")

    def split(self, split_ms: int) -> str:
        minutes, rest = divmod((split_ms + 50) // 100, 600)
        seconds, tenths = divmod(rest, 10)
        if not rest:
            return f"{self._counted(minutes, 'minute')} flat"
        ending = f" point {self.count(tenths)}" if tenths else ""
        return f"{self.count(minutes)} {self._two_digits(seconds)}{ending}"

    def rate(self, rate: Rate) -> str:
        low = self.count(rate.low)
        return f"{low} to {self.count(rate.high)}" if rate.is_band else low

    def time(self, value: TimeValue) -> str:
        seconds = (value.ms + MS_PER_S // 2) // MS_PER_S
        nearness = _NEARNESS[value.precision]
        if nearness and seconds == 60:
            return f"{nearness}a minute"
        return nearness + self._duration(seconds)

    def metres(self, value: MetreValue) -> str:
        return _NEARNESS[value.precision] + self._counted(value.metres, "metre")

    def watts(self, watts: int) -> str:
        return self._counted(watts, "watt")

    def strokes(self, strokes: float) -> str:
        grain = 5 if strokes >= 40 else 1
        return f"about {self._counted(int(strokes / grain + 0.5) * grain, 'stroke')}"

    def percent(self, percent: int) -> str:
        return f"{self.count(percent)} percent"

    def step(self, change_ms: int) -> str:
        tenths = (abs(change_ms) + 50) // 100
        if tenths < 5:
            raise ValueError("a step under half a second is not worth a number")
        return f"{self._seconds(tenths)} {'quicker' if change_ms < 0 else 'slower'}"

    def _seconds(self, tenths: int) -> str:
        whole, part = divmod(tenths, 10)
        if part == 0:
            return self._counted(whole, "second")
        if part == 5:
            return f"{self.count(whole)} and a half seconds" if whole else "half a second"
        return f"about {self._counted((tenths + 5) // 10, 'second')}"

    def _duration(self, seconds: int) -> str:
        if seconds < 60 or seconds == 90:
            return self._counted(seconds, "second")
        hours, rest = divmod(seconds, 3600)
        minutes, seconds = divmod(rest, 60)
        parts = [self._counted(hours, "hour")] if hours else []
        if minutes:
            parts.append(self._counted(minutes, "minute"))
        if seconds:
            # "Four minutes thirty"; after bare hours the unit must be heard.
            parts.append(self.count(seconds) if minutes else self._counted(seconds, "second"))
        return " ".join(parts)

    def _two_digits(self, seconds: int) -> str:
        if seconds == 0:
            return "oh oh"
        return f"oh {self.count(seconds)}" if seconds < 10 else self.count(seconds)

    def _counted(self, number: int, unit: str) -> str:
        return f"{self.count(number)} {unit}{'' if number == 1 else 's'}"


SPOKEN: dict[str, SpokenForms] = {"en": _English()}


def base_language(language: str) -> str:
    """Return the language of a tag: "en" of "en-GB" (BCP 47: the first subtag)."""
    return language.replace("_", "-").partition("-")[0].lower()


def spoken_forms(language: str, where: Where | None = None) -> SpokenForms:
    """Return the forms of a language, or of a region's. Raises PhraseError where it has none."""
    if base_language(language) not in SPOKEN:
        raise PhraseError(
            f"there are no spoken numbers for the language {language!r}",
            where=where,
            remedy=f"There are for {', '.join(SPOKEN)}. To add one, write the methods of "
            "SpokenForms for it and enter them in SPOKEN (cuegen/script/spoken.py), then "
            "write a phrase book in that language.",
        )
    return SPOKEN[base_language(language)]
