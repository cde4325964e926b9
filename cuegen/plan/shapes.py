"""Ready-made sessions to start from, each with a few parameters.

Conventions
    See parameters.py for units. Rates, efforts and their order follow common
    practice (no source): 70 to 85 % across a build, hard intervals near 90 %,
    technique rowing at 60 to 70 %, a warm-up no shorter than the cool-down.

Contents
    SHAPES         the one table of shapes
    build_shape    a shape with its parameters, as a Session
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from cuegen.clock import MS_PER_S, clock_text
from cuegen.errors import PlanError, Where
from cuegen.plan.model import Session, SplitTarget
from cuegen.plan.nearest import offer
from cuegen.plan.notation import parse_notation
from cuegen.plan.notation_text import target_text
from cuegen.plan.parameters import Parameter, Unit, Values, checked

_MIN = 60 * MS_PER_S
_TOP_RATE = 40
_HARD_PCT = 85
"""From this effort on, short build-ups come before the first piece (common practice, no source)."""

_STEP_MS = 5 * MS_PER_S
"""Lengths that a shape works out itself are whole multiples of five seconds."""

_LOW_THEMES = ("recovery", "ratio", "length", "posture")
_MIDDLE_THEMES = ("catch", "sequence", "connection", "legs")
_HIGH_THEMES = ("compression", "relax", "finish", "rhythm")


@dataclass(frozen=True, slots=True)
class ShapeSpec:
    """One ready-made session. `work` gives the lines between warm-up and cool-down."""

    name: str
    title: str
    summary: str
    parameters: tuple[Parameter, ...]
    work: Callable[[Values], str]


def _time(name: str, default_ms: int, low_ms: int, high_ms: int, text: str) -> Parameter:
    return Parameter(name, default_ms, low_ms, high_ms, text, Unit.TIME)


def _rate(name: str, default: int, text: str) -> Parameter:
    return Parameter(name, default, 14, 36, text, Unit.RATE)


def _effort(default: int) -> Parameter:
    return Parameter("effort", default, 40, 100, "how hard the pieces are rowed", Unit.PER_CENT)


_SPLIT = Parameter(
    "split", None, 80_000, 240_000, "split to hold; without it effort leads", Unit.SPLIT
)
_GAIN = Parameter("gain", 3, 0, 10, "how much faster each step is, with a split", Unit.SECONDS)
_RATE_STEP = Parameter("step", 2, 1, 4, "strokes a minute from one step to the next", Unit.RATE)
_BOTH_ENDS = (
    _time("warm_up", 6 * _MIN, 2 * _MIN, 20 * _MIN, "length of the warm-up"),
    _time("cool_down", 4 * _MIN, 2 * _MIN, 20 * _MIN, "length of the cool-down"),
)


def _steps(values: Values) -> str:
    count = values["count"]
    rates = _rising(values["rate"], values["step"], count)
    return (
        f"{count} x {values.clock('work')} r{_listed(rates)}"
        f"{_stepped_target(values, count)} {_efforts(70, 85, count)} ({_themes(rates)})"
    )


def _ladder(values: Values) -> str:
    count = values["rungs"]
    longest, shortest = values["longest"], values["shortest"]
    if shortest > longest:
        raise PlanError(
            "the shortest rung is longer than the longest",
            where=Where(text=clock_text(shortest)),
            remedy=f"Give shortest at most {clock_text(longest)}.",
        )
    lengths = [_rounded(longest + (shortest - longest) * at / (count - 1)) for at in range(count)]
    rates = _rising(values["rate"], values["step"], count)
    return (
        f"{count} x {_clocks(lengths)} r{_listed(rates)}"
        f"{_stepped_target(values, count)} {_efforts(70, 88, count)} ({_themes(rates)})"
        f", paddle {values.clock('paddle')}"
    )


def _pyramid(values: Values) -> str:
    rungs = values["rungs"]
    rising = [_rounded(values["top"] * (at + 1) / rungs) for at in range(rungs)]
    rates = _rising(values["rate"], values["step"], rungs)
    lengths = [*rising, *reversed(rising[:-1])]
    there_and_back = [*reversed(rates), *rates[1:]]
    efforts = [
        75 + round(13 * (rate - rates[0]) / (rates[-1] - rates[0])) for rate in there_and_back
    ]
    return _openers(rates[-1], efforts[0]) + (
        f"{len(lengths)} x {_clocks(lengths)} r{_listed(there_and_back)} {_listed(efforts)}%"
        f" ({_themes(there_and_back)}), paddle {values.clock('paddle')}"
    )


def _intervals(values: Values) -> str:
    return _openers(values["rate"], values["effort"]) + (
        f"{values['count']} x {values.clock('work')} r{values['rate']}{_target(values)}"
        f" {values['effort']}% (legs), rest {values.clock('rest')}"
    )


def _distance(values: Values) -> str:
    return _openers(values["rate"], values["effort"]) + (
        f"{values['count']} x {values['metres']}m r{values['rate']}{_target(values)}"
        f" {values['effort']}% (connection), paddle {values.clock('paddle')}"
    )


def _steady(values: Values) -> str:
    low, high, count = values["low"], values["high"], values["parts"]
    if low > high:
        raise PlanError(
            "the band of rates runs downwards",
            where=Where(text=f"{low}-{high}"),
            remedy="Give low at most high.",
        )
    length = clock_text(_rounded(values["work"] / count))
    band = str(low) if low == high else f"{low}-{high}"
    count_text = f"{count} x " if count > 1 else ""
    return f"{count_text}{length} r{band} {values['effort']}% ({_themes([low] * count)})"


_SPECS = (
    ShapeSpec(
        "steps",
        "Step build",
        "a continuous build: the rate rises with every step",
        (
            Parameter("count", 4, 2, 8, "number of steps"),
            _time("work", 4 * _MIN, _MIN, 15 * _MIN, "length of a step"),
            _rate("rate", 18, "rate of the first step"),
            _RATE_STEP,
            _SPLIT,
            _GAIN,
            *_BOTH_ENDS,
        ),
        _steps,
    ),
    ShapeSpec(
        "ladder",
        "Rate ladder",
        "pieces that get shorter as the rate rises, with a paddle between",
        (
            Parameter("rungs", 5, 2, 8, "number of pieces"),
            _time("longest", 5 * _MIN, _MIN, 15 * _MIN, "length of the first piece"),
            _time("shortest", _MIN, _MIN // 2, 10 * _MIN, "length of the last piece"),
            _rate("rate", 18, "rate of the first piece"),
            _RATE_STEP,
            _SPLIT,
            _GAIN,
            _time("paddle", _MIN, _MIN // 2, 5 * _MIN, "paddle between the pieces"),
            *_BOTH_ENDS,
        ),
        _ladder,
    ),
    ShapeSpec(
        "pyramid",
        "Pyramid",
        "pieces that grow longer at lower rates, then shorter again",
        (
            Parameter("rungs", 4, 2, 6, "pieces up to the longest one"),
            _time("top", 4 * _MIN, 2 * _MIN, 12 * _MIN, "length of the longest piece"),
            _rate("rate", 20, "rate of the longest piece"),
            _RATE_STEP,
            _time("paddle", _MIN, _MIN // 2, 5 * _MIN, "paddle between the pieces"),
            *_BOTH_ENDS,
        ),
        _pyramid,
    ),
    ShapeSpec(
        "intervals",
        "Intervals",
        "hard pieces with rest between",
        (
            Parameter("count", 8, 2, 20, "number of pieces"),
            _time("work", _MIN, _MIN // 2, 10 * _MIN, "length of a piece"),
            _time("rest", _MIN, _MIN // 2, 10 * _MIN, "rest between the pieces"),
            _rate("rate", 26, "rate of the pieces"),
            _effort(88),
            _SPLIT,
            *_BOTH_ENDS,
        ),
        _intervals,
    ),
    ShapeSpec(
        "distance",
        "Distance pieces",
        "pieces over a distance with a paddle between",
        (
            Parameter("count", 4, 2, 12, "number of pieces"),
            Parameter("metres", 750, 250, 5_000, "length of a piece", Unit.METRES),
            _rate("rate", 24, "rate of the pieces"),
            _effort(82),
            _SPLIT,
            _time("paddle", 90 * MS_PER_S, _MIN // 2, 10 * _MIN, "paddle between the pieces"),
            *_BOTH_ENDS,
        ),
        _distance,
    ),
    ShapeSpec(
        "steady",
        "Steady technique row",
        "long easy rowing with one technique theme after another",
        (
            _time("work", 24 * _MIN, 5 * _MIN, 90 * _MIN, "rowing between warm-up and cool-down"),
            Parameter("parts", 4, 1, 12, "number of themes, each for an equal part"),
            _rate("low", 18, "lower end of the band of rates"),
            _rate("high", 20, "upper end of the band of rates"),
            _effort(65),
            *_BOTH_ENDS,
        ),
        _steady,
    ),
)

SHAPES: dict[str, ShapeSpec] = {spec.name: spec for spec in _SPECS}


def build_shape(name: str, **parameters: int | str | None) -> Session:
    """Return a ready-made session.

    Values are numbers in the unit of their parameter, or texts as a coach writes
    them (`work="4:00"`); None stands for the default. Raises PlanError.
    """
    spec = SHAPES.get(name)
    if spec is None:
        raise PlanError(
            "there is no such ready-made session",
            where=Where(text=name),
            remedy=offer(name, SHAPES),
        )
    values = checked(spec.parameters, parameters, name)
    lines = [
        f"warm-up {values.clock('warm_up')} r18",
        spec.work(values),
        f"cool-down {values.clock('cool_down')} r18",
    ]
    return Session(title=spec.title, entries=parse_notation("\n".join(lines)))


def _openers(rate: int, effort: int) -> str:
    """Return short build-ups before work that starts hard, nothing before other work."""
    if effort < _HARD_PCT:
        return ""
    rates = [max(rate - 4, 14), max(rate - 2, 14), rate]
    return f"3 x 0:30 r{_listed(rates)} {_efforts(70, effort - 8, 3)}, paddle 0:30\npaddle 1:00\n"


def _rising(first: int, step: int, count: int) -> list[int]:
    """Return the rates of a build; the last is one that people row at."""
    rates = [first + step * at for at in range(count)]
    if rates[-1] > _TOP_RATE:
        raise PlanError(
            f"the rate would rise to {rates[-1]}",
            where=Where(text=_listed(rates)),
            remedy=f"Take fewer or smaller steps, so that it stays at {_TOP_RATE} or below.",
        )
    return rates


def _target(values: Values) -> str:
    split = values.optional("split")
    return "" if split is None else f" @{target_text(SplitTarget(split))}"


def _stepped_target(values: Values, count: int) -> str:
    first = _target(values)
    return first and first + f"/-{values['gain']}" * (count - 1)


def _efforts(low: int, high: int, count: int) -> str:
    return _listed([low + round((high - low) * at / (count - 1)) for at in range(count)]) + "%"


def _themes(rates: list[int]) -> str:
    """Return a theme for each rate: low rates ask for patience, high ones for looseness."""
    names = []
    for at, rate in enumerate(rates):
        themes = _LOW_THEMES if rate <= 20 else _MIDDLE_THEMES if rate <= 25 else _HIGH_THEMES
        names.append(themes[at % len(themes)])
    return _listed(names)


def _listed(values: list[int] | list[str]) -> str:
    return "/".join(str(value) for value in values)


def _clocks(lengths: list[int]) -> str:
    return _listed([clock_text(length) for length in lengths])


def _rounded(ms: float) -> int:
    return round(ms / _STEP_MS) * _STEP_MS
