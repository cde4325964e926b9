"""From what was heard to a report: which of it is a fault, worst first."""

from __future__ import annotations

import math
import statistics
from collections.abc import Iterator
from pathlib import Path

from cuegen.mix.formats import FORMATS
from cuegen.mix.levels import is_voice_only, levels_of
from cuegen.schedule.cuesheet import CueSheet
from cuegen.verify.beds import overall_below_db, with_beds
from cuegen.verify.clearness import halls_heard, notices
from cuegen.verify.levels import FRAME_MS, Measured, noise_in_silences
from cuegen.verify.lines import LineHeard
from cuegen.verify.report import (
    CHECKS,
    Check,
    Counts,
    CueVerdict,
    Fault,
    HeardCue,
    ListeningReport,
    Skipped,
    Verdict,
    limits,
    place_text,
    worst_first,
)

_TOGETHER = 0.8
"""Share of lines that must lie equally far off for the whole file to count as shifted."""

_ALIKE_MS = 5.0
_DEFAULT_BED_DB = 20.0
_BED_WINDOW_MS = 3_000
_BED_TOLERANCE_DB = 1.0
"""What a codec and the limit of 8 kHz may take from the distance between a line and a bed."""


def report_of(
    file: str,
    sheet: CueSheet,
    lines: tuple[LineHeard, ...],
    measured: Measured,
    skipped: tuple[Skipped, ...],
) -> ListeningReport:
    """Return the report on a file; nothing is measured here."""
    lines = with_beds(lines, lossy=_is_lossy(file))
    bed_db = sheet.sound.bed.below_db if sheet.sound.bed else _DEFAULT_BED_DB
    faults = [*_whole_file(sheet, measured), *_line_faults(lines)]
    if any(fault.check is Check.SHIFT for fault in faults):
        # Lines that moved leave their silences broken: one fault, not two.
        faults = [fault for fault in faults if fault.check is not Check.SILENCE]
    faults += _bed_faults(lines, bed_db)
    faults += _uneven(lines)
    cues = tuple(line.cue for line in lines)
    return ListeningReport(
        verdict=Verdict.FAILED if faults else Verdict.OK,
        title=sheet.title,
        file=file,
        planned_duration_ms=sheet.duration_ms,
        heard_duration_ms=measured.duration_ms,
        target_lufs=levels_of(sheet).target_lufs,
        loudness_lufs=measured.lufs,
        loudness_range_lu=measured.range_lu,
        true_peak_dbtp=measured.peak_dbtp,
        speech_to_bed_db=None if is_voice_only(sheet) else overall_below_db(lines),
        worst_firm_ms=_worst(cue for cue in cues if cue.firm),
        worst_floating_ms=_worst(cue for cue in cues if not cue.firm),
        counts=_counts(lines, len(faults)),
        faults=worst_first(faults),
        skipped=(*skipped, *_silence_unheard(sheet), *_lines_unheard(lines)),
        tolerances=limits(bed_db),
        cues=cues,
        halls=halls_heard(cues),
        notices=tuple(notices(cues)),
        short_term_lufs=measured.curve,
    )


def _is_lossy(file: str) -> bool:
    form = FORMATS.get(Path(file).suffix.lower())
    return form is None or form.lossy


def _whole_file(sheet: CueSheet, measured: Measured) -> Iterator[Fault]:
    off_ms = measured.duration_ms - sheet.duration_ms
    if abs(off_ms) > CHECKS[Check.DURATION].limit:
        what = "longer" if off_ms > 0 else "shorter"
        yield Fault(
            check=Check.DURATION,
            problem=f"the file is {abs(off_ms) / 1000:.1f} s {what} than planned",
        )
    target = levels_of(sheet).target_lufs
    if measured.lufs is None:
        yield Fault(check=Check.LOUDNESS, problem="the file is silent")
    elif abs(measured.lufs - target) > CHECKS[Check.LOUDNESS].limit:
        problem = f"loudness is {measured.lufs:.1f} LUFS, its target {target:.1f}"
        yield Fault(check=Check.LOUDNESS, problem=problem)
    if measured.peak_dbtp is not None and measured.peak_dbtp > CHECKS[Check.TRUE_PEAK].limit:
        problem = f"true peak is {measured.peak_dbtp:.1f} dBTP"
        yield Fault(check=Check.TRUE_PEAK, problem=problem)
    limit = CHECKS[Check.SILENCE].limit
    noise = None if sheet.sound.bed else noise_in_silences(measured.frames, sheet, limit)
    if noise is not None:
        yield Fault(
            check=Check.SILENCE,
            problem=f"{noise.db:.0f} dBFS where silence was planned, "
            f"at {place_text(noise.at_ms)}; {noise.frames * FRAME_MS / 1000:.1f} s in all",
            at_ms=noise.at_ms,
        )


def _line_faults(lines: tuple[LineHeard, ...]) -> list[Fault]:
    """Return the faults of lines, what is most out of place first.

    Lines that all lie equally far off are one fault.
    """
    faults = [line.fault for line in sorted(lines, key=_nearness) if line.fault]
    offsets = [line.cue.offset_ms for line in lines if line.cue.offset_ms is not None]
    if len(offsets) < 3:
        return faults
    middle = statistics.median(offsets)
    together = sum(abs(offset - middle) <= _ALIKE_MS for offset in offsets) / len(lines)
    if abs(middle) <= CHECKS[Check.SHIFT].limit or together < _TOGETHER:
        return faults
    shift = Fault(
        check=Check.SHIFT,
        problem=f"the whole file lies {abs(middle):.0f} ms {'late' if middle > 0 else 'early'}",
    )
    return [shift, *(fault for fault in faults if fault.check is not Check.PLACEMENT)]


def _nearness(line: LineHeard) -> float:
    """Return how near a line that is out of place lies to it; all others are alike."""
    if line.fault is None or line.fault.check is not Check.PLACEMENT:
        return 0.0
    return -abs(line.cue.offset_ms or 0.0) / line.cue.limit_ms


def _bed_faults(lines: tuple[LineHeard, ...], bed_db: float) -> Iterator[Fault]:
    """Yield what lies too close under lines, the worst first."""

    def over_db(line: LineHeard) -> float:
        """Return by how much a line is clear of what it is allowed; negative is a fault."""
        allowed = bed_db - _BED_TOLERANCE_DB - _shortness_db(line)
        return math.inf if line.cue.below_db is None else line.cue.below_db - allowed

    for line in sorted(lines, key=over_db):
        below = line.cue.below_db
        if below is not None and over_db(line) < 0:
            yield Fault(
                check=Check.BED,
                problem=f"what sounds under {line.cue.text!r} lies only {below:.1f} dB below it",
                cue=line.cue.id,
                at_ms=line.cue.planned_ms,
            )


def _shortness_db(line: LineHeard) -> float:
    """Return what a short line is allowed: a bed is held to its loudest 3 s.

    Power that 3 s of it may hold can fall into one part of them, so a stretch of
    s seconds may be 10 log10(3 / s) louder.
    """
    return max(0.0, 10 * math.log10(_BED_WINDOW_MS / line.length_ms))


def _uneven(lines: tuple[LineHeard, ...]) -> Iterator[Fault]:
    """Yield lines that are louder or softer than the rest, the worst first.

    How loud all of them are is another check.
    """
    levels = [line.cue.level_db for line in lines if line.cue.level_db is not None]
    middle = statistics.median(levels) if levels else 0.0
    leaps = [
        (line.cue.level_db - middle, line.cue) for line in lines if line.cue.level_db is not None
    ]
    for leap_db, cue in sorted(leaps, key=lambda pair: -abs(pair[0])):
        if abs(leap_db) > CHECKS[Check.EVENNESS].limit:
            louder = "louder" if leap_db > 0 else "softer"
            yield Fault(
                check=Check.EVENNESS,
                problem=f"{cue.text!r} is {abs(leap_db):.1f} dB {louder} than the rest",
                cue=cue.id,
                at_ms=cue.planned_ms,
            )


def _silence_unheard(sheet: CueSheet) -> Iterator[Skipped]:
    if sheet.sound.bed:
        yield Skipped(check=Check.SILENCE, why="a bed sounds where nothing else was planned")


def _lines_unheard(lines: tuple[LineHeard, ...]) -> Iterator[Skipped]:
    for line in lines:
        if line.cue.match and line.words and line.words.judgement is None and line.words.why:
            why = f"not of cue {line.cue.id}: {line.words.why}"
            yield Skipped(check=Check.WORDS, why=why)


def _worst(cues: Iterator[HeardCue]) -> float | None:
    return max((abs(cue.offset_ms) for cue in cues if cue.offset_ms is not None), default=None)


def _counts(lines: tuple[LineHeard, ...], faults: int) -> Counts:
    cues = [line.cue for line in lines]
    late = {CueVerdict.MISSING, CueVerdict.MOVED}
    return Counts(
        planned=len(cues),
        found=sum(cue.verdict is not CueVerdict.MISSING for cue in cues),
        on_time=sum(cue.verdict not in late for cue in cues),
        firm=sum(cue.firm for cue in cues),
        firm_on_time=sum(cue.firm and cue.verdict not in late for cue in cues),
        planned_words=sum(cue.planned_words or 0 for cue in cues),
        heard_words=sum(cue.heard_words or 0 for cue in cues),
        numbers=sum(line.has_numbers for line in lines),
        faults=faults,
    )
