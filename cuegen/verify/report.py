"""What was heard in a delivered file against what its sheet planned.

Conventions
    Names come in pairs, `planned_*` from the sheet and `heard_*` from the file.
    Instants are milliseconds of the track and mean the onset of a line's first
    word; offsets are heard minus planned, so positive is late. Levels in LUFS,
    dBTP or dB as named. None stands for "not measured", never for zero.

Contents
    Check, CHECKS     the one table of checks with their limits
    Fault             one thing that is wrong, and where
    Notice            one thing that is no fault, but could be better
    HeardCue          one line of the sheet as it was heard
    HallHeard         what all lines together are like in the noise of a hall
    ListeningReport   all of it; JSON by pydantic
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from pydantic import BaseModel, ConfigDict, Field

from cuegen.clock import clock_text, stamp_text
from cuegen.script.kinds import CueKind

REPORT_VERSION = 1


class Check(StrEnum):
    """What is listened for. Listed worst first: this is the order of faults."""

    SHIFT = "shift"
    DURATION = "duration"
    PRESENCE = "presence"
    PLACEMENT = "placement"
    NUMBERS = "numbers"
    WORDS = "words"
    SAMENESS = "sameness"
    SILENCE = "silence"
    BED = "bed"
    TRUE_PEAK = "true-peak"
    LOUDNESS = "loudness"
    EVENNESS = "evenness"


@dataclass(frozen=True, slots=True)
class CheckSpec:
    """limit in `unit`; firm_limit where firm cues are held to a closer one."""

    summary: str
    limit: float
    unit: str
    firm_limit: float | None = None


CHECKS: dict[Check, CheckSpec] = {
    Check.SHIFT: CheckSpec("the whole file lies where it was planned", 10.0, "ms"),
    Check.DURATION: CheckSpec("the file is as long as planned", 100.0, "ms"),
    Check.PRESENCE: CheckSpec("each line is there (likeness to its clip)", 0.5, "of 1"),
    Check.PLACEMENT: CheckSpec("each line begins on its instant", 50.0, "ms", firm_limit=10.0),
    Check.NUMBERS: CheckSpec("numbers are recognised as planned", 0.0, "wrong"),
    Check.WORDS: CheckSpec("every planned word is found by alignment", 0.0, "missing"),
    Check.SAMENESS: CheckSpec("no part of a line differs from its clip", 0.5, "of expected"),
    Check.SILENCE: CheckSpec("silence where silence was planned", -50.0, "dBFS"),
    Check.BED: CheckSpec("whatever sounds under a line lies this far below it", 20.0, "dB"),
    Check.TRUE_PEAK: CheckSpec("true peak of the decoded file", -1.0, "dBTP"),
    Check.LOUDNESS: CheckSpec("integrated loudness meets its target", 0.5, "LU"),
    Check.EVENNESS: CheckSpec("lines are equally loud", 3.0, "dB"),
}
"""±10 and ±50 ms, ±0.5 LU: this project's design. -1 dBTP: EBU R 128. 20 dB: W3C WCAG 2.2,
1.4.7; a sheet may ask for another distance. The others are ours, set by measurement:
tests/verify holds the figures."""


class Verdict(StrEnum):
    OK = "ok"
    FAILED = "failed"


class CueVerdict(StrEnum):
    OK = "ok"
    MISSING = "missing"
    MOVED = "moved"
    REPLACED = "replaced"
    WRONG_WORDS = "wrong-words"


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Fault(_Frozen):
    """One thing that is wrong. `cue` is an id, None where the whole file is meant."""

    check: Check
    problem: str = Field(description="what is wrong, a sentence without its full stop")
    cue: str | None = None
    at_ms: int | None = None

    def __str__(self) -> str:
        place = [f"cue {self.cue}"] if self.cue else []
        if self.at_ms is not None:
            place.append(f"at {clock_text(self.at_ms)}")
        return f"{' '.join(place)}: {self.problem}" if place else self.problem


class Notice(_Frozen):
    """One thing that is worth a look and fails nothing. `cue` is an id."""

    problem: str
    remedy: str
    cue: str
    at_ms: int

    def __str__(self) -> str:
        return f"cue {self.cue} at {clock_text(self.at_ms)}: {self.problem}. {self.remedy}"


class HallHeard(_Frozen):
    """All lines in the noise of one hall, which lies over_lu under speech.

    hard: lines that would be hard to hear. words_pct: about how many words in 100 of
    everyday sentences listeners get at the median (Taal et al. 2011).
    """

    name: str
    over_lu: float
    median_stoi: float
    worst_stoi: float
    worst_cue: str
    hard: int
    words_pct: int


class HeardCue(_Frozen):
    """One line. offset_ms, heard_ms: None where it was not found.

    match: likeness of the sound to its clip, 0 to 1. level_db: how loud the line
    is against its clip. below_db: how far under the line everything else lies
    (loudness of both, gated). stoi: how clear it is in each of the report's halls.
    """

    id: str
    kind: CueKind
    firm: bool
    text: str
    planned_ms: int
    heard_ms: float | None = None
    offset_ms: float | None = None
    limit_ms: float
    match: float
    level_db: float | None = None
    below_db: float | None = None
    stoi: tuple[float, ...] = Field(default=(), description="empty: not measured")
    planned_words: int | None = Field(None, description="None: words were not checked")
    heard_words: int | None = None
    verdict: CueVerdict
    why: str = ""


class Limit(_Frozen):
    """A tolerance that was applied."""

    check: Check
    summary: str
    limit: float
    unit: str
    firm_limit: float | None = None


class Skipped(_Frozen):
    """A check that was not made, and why."""

    check: Check
    why: str


class Counts(_Frozen):
    planned: int
    found: int
    on_time: int
    firm: int
    firm_on_time: int
    planned_words: int
    heard_words: int
    numbers: int = Field(description="lines whose numbers were recognised against the plan")
    faults: int


class ListeningReport(_Frozen):
    """Everything that verification found. Faults and notices are worst first."""

    version: int = REPORT_VERSION
    verdict: Verdict
    title: str
    file: str
    planned_duration_ms: int
    heard_duration_ms: int
    target_lufs: float
    loudness_lufs: float | None = Field(description="None: silence")
    loudness_range_lu: float
    true_peak_dbtp: float | None = Field(description="None: silence")
    speech_to_bed_db: float | None = Field(
        description="loudness of speech over that of everything under it, over all lines; "
        "None where nothing but speech was planned"
    )
    worst_firm_ms: float | None = Field(description="largest offset of a firm cue, without sign")
    worst_floating_ms: float | None
    counts: Counts
    faults: tuple[Fault, ...]
    skipped: tuple[Skipped, ...]
    tolerances: tuple[Limit, ...]
    cues: tuple[HeardCue, ...]
    halls: tuple[HallHeard, ...] = Field(
        default=(), description="quietest first; empty: not measured"
    )
    notices: tuple[Notice, ...] = ()
    short_term_lufs: tuple[float | None, ...] = Field(
        default=(),
        description="loudness of the 3 s that end at 3, 4, 5... s of the file (EBU Tech 3341); "
        "None: silence, under -70 LUFS; empty: not measured",
    )

    def summary(self) -> str:
        """Return the verdict in one line, for a terminal."""
        counts = self.counts
        if self.verdict is Verdict.FAILED:
            first = f"; first: {self.faults[0]}" if self.faults else ""
            return f"FAILED: {_count(counts.faults, 'fault')} in {self.file}{first}"
        parts = [
            f"{counts.on_time} of {_count(counts.planned, 'line')} on time"
            + (
                f" (firm within {self.worst_firm_ms:.1f} ms)"
                if self.worst_firm_ms is not None
                else ""
            )
        ]
        if counts.planned_words:
            parts.append(f"{counts.heard_words} of {_count(counts.planned_words, 'word')} heard")
        if self.loudness_lufs is not None:
            parts.append(f"{self.loudness_lufs:.1f} LUFS")
        if self.true_peak_dbtp is not None:
            parts.append(f"{self.true_peak_dbtp:.1f} dBTP")
        parts += [_clear(hall) for hall in self.halls[-1:]]
        unheard = dict.fromkeys(skipped.check for skipped in self.skipped)
        parts += [f"{check} not checked" for check in unheard]
        return f"OK: {', '.join(parts)}"


def limits(bed_db: float) -> tuple[Limit, ...]:
    """Return the table of checks as a report holds it; bed_db: the distance a sheet asks for."""
    return tuple(
        Limit(
            check=check,
            summary=spec.summary,
            limit=bed_db if check is Check.BED else spec.limit,
            unit=spec.unit,
            firm_limit=spec.firm_limit,
        )
        for check, spec in CHECKS.items()
    )


def worst_first(faults: list[Fault]) -> tuple[Fault, ...]:
    """Return faults in the order of Check, those of one check as they came."""
    order = {check: rank for rank, check in enumerate(Check)}
    return tuple(sorted(faults, key=lambda fault: order[fault.check]))


def place_text(ms: float) -> str:
    """Return an instant to the tenth of a second, `m:ss.t`."""
    stamp = stamp_text(round(ms))
    hours, minutes, seconds = stamp.split(":")
    clock = f"{int(hours) * 60 + int(minutes)}:{seconds}"
    return clock[:-2]


def _clear(hall: HallHeard) -> str:
    """Return what the loudest hall leaves of the lines."""
    if hall.hard:
        return f"{_count(hall.hard, 'line')} hard to hear in {hall.name}"
    return f"clear in {hall.name} (STOI {hall.median_stoi:.2f}, worst {hall.worst_stoi:.2f})"


def _count(number: int, thing: str) -> str:
    return f"{number} {thing}{'' if number == 1 else 's'}"
