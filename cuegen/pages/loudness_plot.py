"""Loudness over time, drawn: the 3 s around each second, beside what the whole file shall have.

Conventions
    Frame and time as in cuegen.pages.plot_frame; louder is up. Values are short-term
    loudness in LUFS, the first of the 3 s that end at 3 s, then one a second, None for
    silence; each stands in the middle of its 3 s. A long track has more values than
    the frame has room for: then a stretch of them is drawn from its softest to its
    loudest, so that no peak and no hole is lost.

Source
    EBU Tech 3341, the two scales of a loudness meter: 18 LU under the target to 9 LU
    over it, or 36 under to 18 over. The narrower one serves where nothing is too loud
    for it and nine values in ten are loud enough: beside silence short-term loudness
    falls by much for a second or two, and that may stand at the foot.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from cuegen.pages.plot_frame import BOTTOM, LEFT, RIGHT, Tick, across, minutes, up
from cuegen.verify.levels import CURVE_STEP_MS, CURVE_WINDOW_MS

SCALES_LU = ((-18.0, 9.0), (-36.0, 18.0))
STEP_LU = 9
"""Between two lines of the grid."""

_MOST_UNDER = 0.1

MOST_VALUES = 2 * (RIGHT - LEFT)
_MARK = {True: 6, False: 3}
"""How tall the mark of a firm line is, and that of a floating one."""
_DASH = 0.5

Point = tuple[int, float]
"""The middle of 3 s, in ms of the track, and their loudness in LUFS."""


@dataclass(frozen=True, slots=True)
class LoudnessPlot:
    """curves: the corners of each stretch that sounds; spoken: marks of lines, an SVG path."""

    curves: tuple[str, ...]
    target: float
    band_top: float
    band_height: float
    levels: tuple[Tick, ...]
    minutes: tuple[Tick, ...]
    spoken: str
    loudest: Point
    softest: Point
    has_beyond: bool


def loudness_plot(
    curve: Sequence[float | None],
    duration_ms: int,
    target_lufs: float,
    band_lu: float,
    lines: Sequence[tuple[int, bool]] = (),
) -> LoudnessPlot | None:
    """Return the drawing, None where nothing sounds for 3 s.

    lines: the instant of each and whether it is firm.
    """
    stretches = tuple(_stretches(curve))
    points = [point for stretch in stretches for point in stretch]
    if not points:
        return None
    low, high = _scale([lufs - target_lufs for _, lufs in points])

    def y(lufs: float) -> float:
        return up((lufs - target_lufs - low) / (high - low))

    few = -(-2 * len(points) // MOST_VALUES) if len(points) > MOST_VALUES else 1
    top, foot = y(target_lufs + band_lu), y(target_lufs - band_lu)
    return LoudnessPlot(
        curves=tuple(
            _corners([(across(at_ms, duration_ms), y(lufs)) for at_ms, lufs in _thinned(one, few)])
            for one in stretches
        ),
        target=y(target_lufs),
        band_top=top,
        band_height=round(foot - top, 1),
        levels=tuple(
            Tick(y(target_lufs + lu), f"{target_lufs + lu:g}".replace("-", "\u2212"))
            for lu in range(int(low), int(high) + 1, STEP_LU)
        ),
        minutes=minutes(duration_ms),
        spoken=_spoken(lines, duration_ms),
        loudest=max(points, key=lambda point: point[1]),
        softest=min(points, key=lambda point: point[1]),
        has_beyond=any(not low <= lufs - target_lufs <= high for _, lufs in points),
    )


def _stretches(curve: Sequence[float | None]) -> Iterator[list[Point]]:
    """Yield the values between silences."""
    stretch: list[Point] = []
    for second, lufs in enumerate(curve):
        if lufs is not None:
            stretch.append((CURVE_WINDOW_MS // 2 + CURVE_STEP_MS * second, lufs))
        elif stretch:
            yield stretch
            stretch = []
    if stretch:
        yield stretch


def _scale(reach_lu: Sequence[float]) -> tuple[float, float]:
    """Return the narrower scale where it serves, else the wider one."""
    low, high = SCALES_LU[0]
    under = sum(lu < low for lu in reach_lu)
    serves = max(reach_lu) <= high and under <= _MOST_UNDER * len(reach_lu)
    return SCALES_LU[0 if serves else 1]


def _thinned(stretch: Sequence[Point], few: int) -> Iterator[Point]:
    """Yield the softest and the loudest of every `few` values, in their order."""
    if few == 1:
        yield from stretch
        return
    for first in range(0, len(stretch), few):
        some = stretch[first : first + few]
        ends = (min(some, key=lambda point: point[1]), max(some, key=lambda point: point[1]))
        yield from sorted(set(ends))


def _corners(points: Sequence[tuple[float, float]]) -> str:
    """Return points as an SVG polyline takes them; one alone becomes a dash."""
    if len(points) == 1:
        ((x, y),) = points
        points = [(round(x - _DASH, 1), y), (round(x + _DASH, 1), y)]
    return " ".join(f"{x},{y}" for x, y in points)


def _spoken(lines: Sequence[tuple[int, bool]], duration_ms: int) -> str:
    """Return a mark at the foot for every line; lines in one place have one."""
    places: dict[float, bool] = {}
    for at_ms, firm in lines:
        x = across(at_ms, duration_ms)
        places[x] = places.get(x, False) or firm
    return "".join(f"M{x} {BOTTOM}v-{_MARK[firm]}" for x, firm in sorted(places.items()))
