"""The three drawings of a listening report, each with the words that say the same."""

from __future__ import annotations

from dataclasses import dataclass

from cuegen.clock import clock_text
from cuegen.pages.loudness_plot import LoudnessPlot, Point, loudness_plot
from cuegen.pages.offset_plot import Heard, OffsetPlot, offset_plot
from cuegen.pages.under_plot import MOST_DB, Over, UnderPlot, under_plot
from cuegen.sheet.wording import one_line
from cuegen.verify.report import CHECKS, Check, HeardCue, ListeningReport

_SHOWN_MS = 0.1
"""The finest step in which the page writes an offset."""


@dataclass(frozen=True, slots=True)
class LoudnessDrawn:
    """target, band, heard: of the whole file. loudest, softest: of 3 s, with their times."""

    plot: LoudnessPlot
    target: str
    band: str
    heard: str
    loudest: str
    softest: str


@dataclass(frozen=True, slots=True)
class UnderDrawn:
    """worst: the line, its time and its distance; overall: that of all lines together."""

    plot: UnderPlot
    limit: str
    overall: str
    worst: str
    worst_clock: str
    worst_over: str
    is_fault: bool


def offsets_drawn(report: ListeningReport) -> OffsetPlot | None:
    """Return the drawing of the offsets, or None where no line was found."""
    heard = [
        Heard(
            at_ms=cue.planned_ms,
            offset_ms=cue.offset_ms,
            firm=cue.firm,
            out=abs(cue.offset_ms) > cue.limit_ms,
        )
        for cue in report.cues
        if cue.offset_ms is not None
    ]
    if not heard:
        return None
    missing = [cue.planned_ms for cue in report.cues if cue.offset_ms is None]
    return offset_plot(heard, report.planned_duration_ms, placement_limits(report), missing)


def loudness_drawn(report: ListeningReport) -> LoudnessDrawn | None:
    """Return the drawing of the loudness, or None where it was not measured or all is silent."""
    band_lu = limit_of(report, Check.LOUDNESS)
    plot = loudness_plot(
        report.short_term_lufs,
        max(report.planned_duration_ms, report.heard_duration_ms),
        report.target_lufs,
        band_lu,
        [(cue.planned_ms, cue.firm) for cue in report.cues],
    )
    if plot is None:
        return None
    return LoudnessDrawn(
        plot=plot,
        target=number(report.target_lufs),
        band=number(band_lu, "g"),
        heard="" if report.loudness_lufs is None else number(report.loudness_lufs),
        loudest=_at(plot.loudest),
        softest=_at(plot.softest),
    )


def under_drawn(report: ListeningReport) -> UnderDrawn | None:
    """Return the drawing of what sounds under lines, or None where only speech was planned."""
    faults = [fault.cue for fault in report.faults if fault.check is Check.BED]
    lines = {
        cue.id: Over(cue.planned_ms, cue.below_db, cue.firm, cue.id in faults)
        for cue in report.cues
        if cue.below_db is not None
    }
    if report.speech_to_bed_db is None or not lines:
        return None
    # What a line may have under it depends on its length: the report's order knows.
    closest = min(lines, key=lambda cue: lines[cue].over_db)
    worst = next((cue for cue in faults if cue in lines), closest)
    limit_db = limit_of(report, Check.BED)
    return UnderDrawn(
        plot=under_plot(list(lines.values()), lines[worst], report.planned_duration_ms, limit_db),
        limit=number(limit_db, "g"),
        overall=over_text(report.speech_to_bed_db),
        worst=one_line(next(cue.text for cue in report.cues if cue.id == worst)),
        worst_clock=clock_text(lines[worst].at_ms),
        worst_over=over_text(lines[worst].over_db),
        is_fault=lines[worst].out,
    )


def furthest_off(report: ListeningReport, most: int) -> list[HeardCue]:
    """Return the lines furthest from their instants, the worst first; none that is on it.

    A line that was not found comes before all others; the rest are weighed by what
    each was allowed. On its instant is what lies less than half of _SHOWN_MS off.
    """
    off = [
        cue for cue in report.cues if cue.offset_ms is None or abs(cue.offset_ms) >= _SHOWN_MS / 2
    ]
    return sorted(off, key=_nearness)[:most]


def _nearness(cue: HeardCue) -> tuple[bool, float]:
    if cue.offset_ms is None:
        return False, 0.0
    return True, -abs(cue.offset_ms) / cue.limit_ms


def placement_limits(report: ListeningReport) -> tuple[float, ...]:
    """Return the tolerances that the report's lines were held to, closest first."""
    spec = CHECKS[Check.PLACEMENT]
    return tuple(sorted({cue.limit_ms for cue in report.cues} or {spec.limit}))


def limit_of(report: ListeningReport, check: Check) -> float:
    """Return the tolerance that a report applied, that of the table where it names none."""
    named = (limit.limit for limit in report.tolerances if limit.check is check)
    return next(named, CHECKS[check].limit)


def over_text(below_db: float) -> str:
    """Return how far a line lies over what else sounds; a greater distance is not told apart."""
    return f"over {MOST_DB}" if below_db > MOST_DB else number(below_db)


def number(value: float, form: str = ".1f") -> str:
    """Return a number with a minus that is one."""
    return format(value, form).replace("-", "\u2212")


def _at(point: Point) -> str:
    at_ms, lufs = point
    return f"{number(lufs)} LUFS around {clock_text(at_ms)}"
