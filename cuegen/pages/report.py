"""A listening report as a page: verdict first, faults worst first, then the proof.

Times are those of the track, as a player shows them. The page is one file that
runs nothing and asks for nothing (cuegen.sheet.page); its words come from a plan
and are always escaped.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from cuegen.clock import clock_text
from cuegen.files import write_text
from cuegen.pages.beside import ALONE, Beside
from cuegen.pages.report_plots import (
    furthest_off,
    loudness_drawn,
    number,
    offsets_drawn,
    over_text,
    under_drawn,
)
from cuegen.pages.report_words import detail_words, verdict_words
from cuegen.sheet.page import fill_page
from cuegen.sheet.wording import one_line
from cuegen.verify.clearness import HARD_STOI
from cuegen.verify.report import (
    Check,
    CueVerdict,
    Fault,
    HallHeard,
    HeardCue,
    Limit,
    ListeningReport,
    Verdict,
)

_SENSES = {
    Check.SHIFT: "\u00b1",
    Check.DURATION: "\u00b1",
    Check.PRESENCE: "at least ",
    Check.NUMBERS: "at most ",
    Check.WORDS: "at most ",
    Check.SILENCE: "at most ",
    Check.BED: "at least ",
    Check.TRUE_PEAK: "at most ",
}
"""How a limit is meant, where its unit and summary do not say it."""

_FEW = 12
"""Lines that are shown again, those worst to understand."""
_FEW_OFF = 6
"""Lines that are shown again, those furthest from their instants."""


@dataclass(frozen=True, slots=True)
class FaultRow:
    """clock: of the track, empty where the whole file is meant."""

    clock: str
    problem: str
    cue: str
    text: str


@dataclass(frozen=True, slots=True)
class CheckRow:
    """One check: what was asked, what was heard, how it came out."""

    summary: str
    asked: str
    heard: str
    outcome: str
    at_fault: bool


@dataclass(frozen=True, slots=True)
class OffRow:
    """A line's offset beside what it was allowed, both in ms."""

    clock: str
    text: str
    offset: str
    asked: str
    at_fault: bool


@dataclass(frozen=True, slots=True)
class LineRow:
    """over: dB over all else, clear: STOI in the loudest hall; empty where not measured."""

    clock: str
    firm: bool
    text: str
    offset: str
    words: str
    over: str
    clear: str
    at_fault: bool
    why: str


@dataclass(frozen=True, slots=True)
class HallRow:
    """All lines in one hall."""

    name: str
    over: str
    median: str
    worst: str
    words: str
    hard: int


def report_page(report: ListeningReport, beside: Beside = ALONE) -> str:
    """Return the report as one HTML page, with links to the pages that lie beside it."""
    failed = report.verdict is Verdict.FAILED
    return fill_page(
        "report.html.jinja",
        "report.css",
        language="en",
        title=one_line(report.title),
        file=one_line(report.file),
        failed=failed,
        verdict="Failed" if failed else "OK",
        sentence=verdict_words(report),
        detail=detail_words(report),
        faults=tuple(_fault_row(fault, report) for fault in report.faults),
        beside=beside,
        offsets=offsets_drawn(report),
        furthest=tuple(_off_row(cue) for cue in furthest_off(report, _FEW_OFF)),
        loudness=loudness_drawn(report),
        under=under_drawn(report),
        range=f"{number(report.loudness_range_lu)} LU",
        checks=tuple(_check_row(limit, report) for limit in report.tolerances),
        skipped=tuple((s.check.value, one_line(s.why)) for s in report.skipped),
        halls=tuple(_hall_row(hall) for hall in report.halls),
        hard=f"{HARD_STOI:.2f}",
        notices=tuple(
            (clock_text(notice.at_ms), one_line(f"{notice.problem}. {notice.remedy}"))
            for notice in report.notices
        ),
        has_bed=report.speech_to_bed_db is not None,
        least_clear=tuple(_line_row(cue) for cue in _least_clear(report)),
        lines=tuple(_line_row(cue) for cue in report.cues),
    )


def save_report_page(
    report: ListeningReport,
    path: Path | str,
    beside: Beside = ALONE,
) -> None:
    """Write the page, whole or not at all. Raises OutputError."""
    write_text(Path(path), report_page(report, beside))


def _fault_row(fault: Fault, report: ListeningReport) -> FaultRow:
    cue = next((cue for cue in report.cues if cue.id == fault.cue), None)
    return FaultRow(
        clock="" if fault.at_ms is None else clock_text(fault.at_ms),
        problem=one_line(fault.problem),
        cue=one_line(fault.cue or ""),
        text=one_line(cue.text) if cue and cue.text not in fault.problem else "",
    )


def _off_row(cue: HeardCue) -> OffRow:
    return OffRow(
        clock=clock_text(cue.planned_ms),
        text=one_line(cue.text),
        offset="not found" if cue.offset_ms is None else _signed(cue.offset_ms),
        asked=f"\u00b1{number(cue.limit_ms, 'g')}",
        at_fault=cue.offset_ms is None or abs(cue.offset_ms) > cue.limit_ms,
    )


def _check_row(limit: Limit, report: ListeningReport) -> CheckRow:
    faults = sum(fault.check is limit.check for fault in report.faults)
    skipped = any(skipped.check is limit.check for skipped in report.skipped)
    outcome = "ok"
    if faults:
        outcome = f"{faults} fault{'s' if faults > 1 else ''}"
    elif skipped:
        outcome = "not checked"
    return CheckRow(
        summary=limit.summary,
        asked=_asked(limit, report),
        heard=", ".join(_heard(limit.check, report)),
        outcome=outcome,
        at_fault=faults > 0,
    )


def _asked(limit: Limit, report: ListeningReport) -> str:
    asked = number(limit.limit, "g")
    if limit.check is Check.LOUDNESS:
        return f"{number(report.target_lufs)} LUFS \u00b1{asked} {limit.unit}"
    if limit.firm_limit is not None:
        firm = number(limit.firm_limit, "g")
        return f"firm \u00b1{firm} {limit.unit}, floating \u00b1{asked} {limit.unit}"
    return f"{_SENSES.get(limit.check, '')}{asked} {limit.unit}"


def _heard(check: Check, report: ListeningReport) -> Iterator[str]:
    """Yield what the report measured for a check, as far as it holds a figure for it."""
    counts = report.counts
    if check is Check.DURATION:
        yield f"{report.heard_duration_ms - report.planned_duration_ms:+d} ms".replace(
            "-", "\u2212"
        )
    if check is Check.PRESENCE:
        yield f"{counts.found} of {counts.planned} lines"
    if check is Check.PLACEMENT:
        yield from _worst(report)
    if check is Check.WORDS and counts.planned_words:
        yield f"{counts.heard_words} of {counts.planned_words} words"
    if check is Check.NUMBERS and counts.numbers:
        yield f"numbers of {counts.numbers} lines"
    if check is Check.LOUDNESS and report.loudness_lufs is not None:
        yield f"{number(report.loudness_lufs)} LUFS"
    if check is Check.TRUE_PEAK and report.true_peak_dbtp is not None:
        yield f"{number(report.true_peak_dbtp)} dBTP"
    if check is Check.BED and report.speech_to_bed_db is not None:
        yield f"{number(report.speech_to_bed_db)} dB"


def _worst(report: ListeningReport) -> Iterator[str]:
    if report.worst_firm_ms is not None:
        yield f"firm within {report.worst_firm_ms:.1f} ms"
    if report.worst_floating_ms is not None:
        yield f"floating within {report.worst_floating_ms:.1f} ms"


def _least_clear(report: ListeningReport) -> list[HeardCue]:
    """Return the lines that are worst to understand, the worst first."""
    measured = [cue for cue in report.cues if cue.stoi]
    return sorted(measured, key=lambda cue: cue.stoi[-1])[:_FEW]


def _hall_row(hall: HallHeard) -> HallRow:
    return HallRow(
        name=hall.name,
        over=f"{number(hall.over_lu, 'g')} LU",
        median=f"{hall.median_stoi:.2f}",
        worst=f"{hall.worst_stoi:.2f}",
        words=f"{hall.words_pct} in 100",
        hard=hall.hard,
    )


def _line_row(cue: HeardCue) -> LineRow:
    words = "" if cue.planned_words is None else f"{cue.heard_words or 0} of {cue.planned_words}"
    return LineRow(
        clock=clock_text(cue.planned_ms),
        firm=cue.firm,
        text=one_line(cue.text),
        offset="not found" if cue.offset_ms is None else _signed(cue.offset_ms),
        words=words,
        over="" if cue.below_db is None else over_text(cue.below_db),
        clear=f"{cue.stoi[-1]:.2f}" if cue.stoi else "",
        at_fault=cue.verdict is not CueVerdict.OK,
        why=one_line(cue.why),
    )


def _signed(ms: float) -> str:
    """Return "+0.3", "\u22120.3" or "0.0", never "-0.0"."""
    text = f"{ms:+.1f}"
    return "0.0" if text in {"+0.0", "-0.0"} else text.replace("-", "\u2212")
