"""Any plan gives either a sheet that holds together, or one clear error.

The number of plans is set by CUEGEN_PLANS (60 without it); lengths of lines are
those of the fake voice, so that thousands of plans take minutes.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import HealthCheck, given, settings

from cuegen.errors import CuegenError
from cuegen.plan.model import Session
from cuegen.schedule.cuesheet import GAP_MS, LEAD_MS, Cue, CueSheet
from cuegen.script.kinds import CUE_KINDS, CueKind
from cuegen.script.picker import same_words
from cuegen.sheet.checking import check_sheet
from cuegen.steps import compile_sheet
from cuegen.targets.resolve import outline
from tests.plan.strategies import sessions
from tests.script.outlines import script_of
from tests.script.truth import false_statements
from tests.voice.fake import FakeSpeaker

PLANS = int(os.environ.get("CUEGEN_PLANS", "60"))
SHARE_BY = 0.03
"""The talk share is met to three points, or the sheet says why not: this project's promise."""


@pytest.mark.slow
@settings(
    max_examples=PLANS,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
@given(session=sessions())
def test_a_plan_gives_a_valid_sheet_or_a_clear_error(session: Session) -> None:
    # The plain book and English: other books and voices are other tests' matter.
    ours = replace(session, phrase_book="plain", language="en", voice="natural")
    sheet = _sheet_or_error(ours)
    if isinstance(sheet, CuegenError):
        assert sheet.problem
        assert not sheet.problem.endswith(".")
        return
    check_sheet(sheet)
    assert false_statements(sheet) == []
    assert list(_too_near(sheet)) == []
    assert list(_repeated(sheet)) == []
    _firm_cues_stand_exactly(ours, sheet)
    _the_talk_share_is_met_or_explained(sheet)


def _sheet_or_error(session: Session) -> CueSheet | CuegenError:
    try:
        return compile_sheet(session, speaker=FakeSpeaker())
    except CuegenError as error:
        return error


def _too_near(sheet: CueSheet) -> Iterator[str]:
    """Cues never overlap, and lie a gap apart but inside a count."""
    for before, after in pairwise(sheet.cues):
        counted = CueKind.BEAT in (before.kind, after.kind) and before.firm and after.firm
        if after.start_ms - before.end_ms < (0 if counted else GAP_MS):
            yield f"{before.id} ends at {before.end_ms}, {after.id} starts at {after.start_ms}"


def _repeated(sheet: CueSheet) -> Iterator[str]:
    """No floating cue says what another cue of the session said, whatever the signs."""
    times = Counter(same_words(cue.text) for cue in sheet.cues)
    for cue in sheet.cues:
        if not cue.firm and times[same_words(cue.text)] > 1:
            yield f"{cue.id}: {cue.text}"


def _firm_cues_stand_exactly(session: Session, sheet: CueSheet) -> None:
    """Each firm cue of the script is on the sheet at its one instant, and no other is firm."""
    laid = outline(session)
    wanted = {cue.id: cue.prefer_ms for cue in script_of(laid).candidates if cue.firm}
    assert {cue.id: cue.at_ms for cue in sheet.cues if cue.firm} == wanted
    starts = {segment.start_ms for segment in laid.segments}
    for cue in sheet.cues:
        assert cue.firm == CUE_KINDS[cue.kind].firm
        assert cue.at_ms - cue.start_ms == LEAD_MS
        if cue.kind in {"rate-change", "start", "segment-end"}:
            assert cue.at_ms in starts


def _the_talk_share_is_met_or_explained(sheet: CueSheet) -> None:
    spoken_ms = sum(_length_ms(cue) for cue in sheet.cues)
    met = abs(spoken_ms / sheet.duration_ms - sheet.talk_share) <= SHARE_BY
    assert met == (sheet.talk_limit == "")


def _length_ms(cue: Cue) -> int:
    return cue.end_ms - cue.start_ms
