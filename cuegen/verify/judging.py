"""From what was heard to a report: which of it is a fault, worst first."""

from __future__ import annotations

import statistics
from collections.abc import Iterator
from dataclasses import dataclass

from cuegen.mix.levels import is_voice_only, levels_of
from cuegen.schedule.cuesheet import CueSheet
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
_BED_TOLERANCE_DB = 1.5
"""A bed is levelled as a whole, by loudness; under one line it may be that much louder."""


@dataclass(frozen=True, slots=True)
class Measured:
    """The whole file. Levels are None for silence, or where nothing was measured."""

    duration_ms: int
    lufs: float | None
    range_lu: float
    peak_dbtp: float | None
    loudest_silence_db: float | None
    loudest_silence_ms: int


def report_of(
    file: str,
    sheet: CueSheet,
    lines: tuple[LineHeard, ...],
    measured: Measured,
    skipped: tuple[Skipped, ...],
) -> ListeningReport:
    """Return the report on a file; nothing is measured here."""
    bed_db = sheet.sound.bed.below_db if sheet.sound.bed else _DEFAULT_BED_DB
    faults = [*_whole_file(sheet, measured), *_line_faults(lines)]
    if any(fault.check is Check.SHIFT for fault in faults):
        # Lines that moved leave their silences broken: one fault, not two.
        faults = [fault for fault in faults if fault.check is not Check.SILENCE]
    if not is_voice_only(sheet):
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
        speech_to_bed_db=None if is_voice_only(sheet) else _middle_below(cues),
        worst_firm_ms=_worst(cue for cue in cues if cue.firm),
        worst_floating_ms=_worst(cue for cue in cues if not cue.firm),
        counts=_counts(lines, len(faults)),
        faults=worst_first(faults),
        skipped=skipped,
        tolerances=limits(bed_db),
        cues=cues,
    )


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
    loudest = measured.loudest_silence_db
    if loudest is not None and loudest > CHECKS[Check.SILENCE].limit:
        yield Fault(
            check=Check.SILENCE,
            problem=f"{loudest:.0f} dBFS where silence was planned, "
            f"at {place_text(measured.loudest_silence_ms)}",
            at_ms=measured.loudest_silence_ms,
        )


def _line_faults(lines: tuple[LineHeard, ...]) -> list[Fault]:
    """Return the faults of lines; lines that all lie equally far off are one fault."""
    faults = [line.fault for line in lines if line.fault]
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


def _bed_faults(lines: tuple[LineHeard, ...], bed_db: float) -> Iterator[Fault]:
    for line in lines:
        below = line.cue.below_db
        if below is not None and below < bed_db - _BED_TOLERANCE_DB:
            yield Fault(
                check=Check.BED,
                problem=f"what sounds under {line.cue.text!r} lies only {below:.1f} dB below it",
                cue=line.cue.id,
                at_ms=line.cue.planned_ms,
            )


def _uneven(lines: tuple[LineHeard, ...]) -> Iterator[Fault]:
    for line in lines:
        level = line.cue.level_db
        if level is not None and abs(level) > CHECKS[Check.EVENNESS].limit:
            yield Fault(
                check=Check.EVENNESS,
                problem=f"{line.cue.text!r} is {level:+.1f} dB against what was planned",
                cue=line.cue.id,
                at_ms=line.cue.planned_ms,
            )


def _middle_below(cues: tuple[HeardCue, ...]) -> float | None:
    found = [cue.below_db for cue in cues if cue.below_db is not None]
    return round(statistics.median(found), 1) if found else None


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
