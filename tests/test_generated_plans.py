"""Any plan gives either a sheet that holds together, or one clear error.

The number of plans is set by CUEGEN_PLANS (60 without it); lengths of lines are
those of the fake voice, so that thousands of plans take minutes.
"""

from __future__ import annotations

import os
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings

from cuegen.errors import CuegenError
from cuegen.plan.model import Session
from cuegen.schedule.cuesheet import LEAD_MS, CueSheet
from cuegen.sheet.checking import check_sheet
from cuegen.steps import compile_sheet
from cuegen.targets.resolve import outline
from tests.plan.strategies import sessions
from tests.script.truth import false_statements
from tests.voice.fake import FakeSpeaker

PLANS = int(os.environ.get("CUEGEN_PLANS", "60"))


@pytest.mark.slow
@settings(
    max_examples=PLANS,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
@given(session=sessions())
def test_a_plan_gives_a_valid_sheet_or_a_clear_error(session: Session) -> None:
    sheet = _sheet_or_error(session)
    if isinstance(sheet, CuegenError):
        assert sheet.problem
        assert not sheet.problem.endswith(".")
        return
    check_sheet(sheet)
    assert false_statements(sheet) == []
    _boundaries_are_called_on_the_instant(session, sheet)


def _sheet_or_error(session: Session) -> CueSheet | CuegenError:
    # The plain book and English: other books and voices are other tests' matter.
    ours = replace(session, phrase_book="plain", language="en", voice="natural")
    try:
        return compile_sheet(ours, speaker=FakeSpeaker())
    except CuegenError as error:
        return error


def _boundaries_are_called_on_the_instant(session: Session, sheet: CueSheet) -> None:
    """Each firm cue begins LEAD_MS after its clip; those at a change lie on it exactly."""
    laid = outline(session)
    starts = {segment.start_ms for segment in laid.segments}
    for cue in sheet.cues:
        assert cue.at_ms - cue.start_ms == LEAD_MS
        if cue.kind in {"rate-change", "start", "segment-end"}:
            assert cue.at_ms in starts
