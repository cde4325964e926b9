"""Scripts and sheets for the tests of this folder: from sessions, without a disk or a voice."""

from __future__ import annotations

from functools import lru_cache

from cuegen.plan.model import Session
from cuegen.schedule.compose import compose
from cuegen.schedule.cuesheet import Cue, CueSheet
from cuegen.schedule.place import Placement, place
from cuegen.schedule.rules import frame_of
from cuegen.script.book import PhraseBook
from cuegen.script.candidate import Candidate, Script, Wording
from cuegen.script.candidates import build_candidates
from cuegen.script.kinds import CueKind
from cuegen.script.phrasebook import find_book
from cuegen.targets.outline import Outline
from cuegen.targets.resolve import outline as outline_of
from tests.targets.plans import session
from tests.voice.fake import fake_length_ms


@lru_cache(maxsize=1)
def plain() -> PhraseBook:
    return find_book("plain")


def script_of(plan: Session | Outline, book: PhraseBook | None = None) -> Script:
    laid = plan if isinstance(plan, Outline) else outline_of(plan)
    return build_candidates(laid, book or plain())


def by_id(script: Script) -> dict[str, Candidate]:
    return {candidate.id: candidate for candidate in script.candidates}


def of_kind(script: Script, kind: CueKind) -> list[Candidate]:
    return [candidate for candidate in script.candidates if candidate.kind is kind]


def onsets(candidate: Candidate) -> tuple[int, int]:
    """Return the first and last onset of any wording."""
    return (
        min(w.earliest_ms for w in candidate.wordings),
        max(w.latest_ms for w in candidate.wordings),
    )


def all_readings(outline: Outline, script: Script) -> CueSheet:
    """Return a sheet in which every wording is heard at both ends of its window and between.

    All of them stand there at once, so that nothing can be told from it about the
    silence after a cue: judge it with `false_statements(..., silence=False)`, and the
    silence on `placed_sheet`.
    """
    frame = frame_of(outline, script.quiet)
    empty = compose(outline, Placement((), ()), frame)
    cues = tuple(
        _cue(candidate, wording, at_ms)
        for candidate in script.candidates
        for wording in candidate.wordings
        for at_ms in sorted(
            {
                wording.earliest_ms,
                (wording.earliest_ms + wording.latest_ms) // 2,
                wording.latest_ms,
            }
        )
    )
    return empty.model_copy(update={"cues": cues})


def placed_sheet(outline: Outline, script: Script) -> CueSheet:
    """Return the sheet of a script as it will be heard, with lines as long as the fake voice's."""
    frame = frame_of(outline, script.quiet)
    placement = place(script.candidates, frame, fake_length_ms)
    return compose(outline, placement, frame, script.notes, unsaid=script.unsaid)


def _cue(candidate: Candidate, wording: Wording, at_ms: int) -> Cue:
    return Cue(
        id=candidate.id,
        kind=candidate.kind,
        firm=candidate.firm,
        at_ms=at_ms,
        start_ms=max(at_ms - 10, 0),
        end_ms=at_ms + 500,
        text=wording.text,
        segment=candidate.segment,
        theme=candidate.theme,
    )


__all__ = [
    "all_readings",
    "by_id",
    "of_kind",
    "onsets",
    "placed_sheet",
    "plain",
    "script_of",
    "session",
]
