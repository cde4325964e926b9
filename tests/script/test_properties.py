"""What holds for every session: windows, firm instants, fresh words, true words.

The number of sessions is set by CUEGEN_SCRIPTS, 10 for each promise without it.
"""

from __future__ import annotations

import os
from collections import Counter
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cuegen.errors import CuegenError
from cuegen.plan.model import Session
from cuegen.script.candidate import Script
from cuegen.script.kinds import CUE_KINDS, CueKind
from cuegen.script.phrase import unspeakable
from cuegen.script.picker import same_words
from cuegen.targets.outline import Outline
from cuegen.targets.resolve import outline as outline_of
from tests.plan.strategies import sessions
from tests.script.outlines import all_readings, placed_sheet, script_of
from tests.script.truth import false_statements

EXAMPLES = settings(
    max_examples=int(os.environ.get("CUEGEN_SCRIPTS", "10")),
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)


@st.composite
def scripts(draw: st.DrawFn) -> tuple[Outline, Script]:
    """A session that can be laid on the clock, with its script."""
    plan = draw(sessions(small=True))
    plan = replace(
        plan,
        rower=draw(st.sampled_from([None, "Robin", "{x} 7"])),
        count_in=draw(st.sampled_from([0, 1, 3, 3, 5])),
        lead_in_ms=draw(st.sampled_from([None, None, 6_000, 45_000])),
        caution=draw(st.booleans()),
    )
    outline = _laid(plan)
    return outline, script_of(outline)


def _laid(plan: Session) -> Outline:
    try:
        return outline_of(plan)
    except CuegenError:
        # A step or an offset that comes to an impossible number is the targets' business.
        easier = tuple(replace(entry, targets=()) for entry in plan.entries)
        return outline_of(replace(plan, entries=easier))


@pytest.mark.slow
class TestEverySession:
    @EXAMPLES
    @given(made=scripts())
    def test_what_is_said_is_true_over_the_whole_window(self, made: tuple[Outline, Script]) -> None:
        assert false_statements(all_readings(*made), silence=False) == []

    @EXAMPLES
    @given(made=scripts())
    def test_what_is_heard_is_true_and_announced_quiet_is_kept(
        self, made: tuple[Outline, Script]
    ) -> None:
        assert false_statements(placed_sheet(*made)) == []

    @EXAMPLES
    @given(made=scripts())
    def test_candidates_come_in_the_order_of_the_instants_that_suit_them(
        self, made: tuple[Outline, Script]
    ) -> None:
        order = [(cue.prefer_ms, cue.id) for cue in made[1].candidates]
        assert order == sorted(order)

    @EXAMPLES
    @given(made=scripts())
    def test_windows_stand_inside_the_segment_that_the_cue_names(
        self, made: tuple[Outline, Script]
    ) -> None:
        outline, script = made
        for cue in script.candidates:
            low, high = _stretch(outline, cue.segment)
            if cue.kind is CueKind.EXPECTED_END:
                low, high = outline.segments[cue.segment].end_ms, high + 5_000
            for wording in cue.wordings:
                assert low <= wording.earliest_ms <= wording.latest_ms <= high, cue

    @EXAMPLES
    @given(made=scripts())
    def test_firm_cues_stand_on_one_instant_and_only_firm_kinds_do(
        self, made: tuple[Outline, Script]
    ) -> None:
        for cue in made[1].candidates:
            assert cue.firm == CUE_KINDS[cue.kind].firm
            if cue.firm:
                instants = {t for w in cue.wordings for t in (w.earliest_ms, w.latest_ms)}
                assert instants == {cue.prefer_ms}

    @EXAMPLES
    @given(made=scripts())
    def test_no_floating_text_is_offered_twice(self, made: tuple[Outline, Script]) -> None:
        texts = Counter(
            same_words(w.text) for c in made[1].candidates if not c.firm for w in c.wordings
        )
        assert [text for text, times in texts.items() if times > 1] == []

    @EXAMPLES
    @given(made=scripts())
    def test_ids_are_unique_and_every_line_is_speakable(self, made: tuple[Outline, Script]) -> None:
        cues = made[1].candidates
        assert len({cue.id for cue in cues}) == len(cues)
        assert [w.text for c in cues for w in c.wordings if unspeakable(w.text) or not w.text] == []

    @EXAMPLES
    @given(made=scripts())
    def test_the_same_outline_gives_the_same_script(self, made: tuple[Outline, Script]) -> None:
        outline, script = made
        assert script_of(outline) == script

    @EXAMPLES
    @given(made=scripts())
    def test_lines_on_technique_in_one_segment_are_a_minute_apart(
        self, made: tuple[Outline, Script]
    ) -> None:
        lines = [cue for cue in made[1].candidates if cue.kind is CueKind.TECHNIQUE]
        for first, second in pairwise(sorted(lines, key=lambda cue: cue.prefer_ms)):
            if first.segment == second.segment:
                gap = second.wordings[0].earliest_ms - first.wordings[0].latest_ms
                assert gap >= 60_000


def _stretch(outline: Outline, index: int) -> tuple[int, int]:
    """Return the span that belongs to a segment: the opening to the first, the tail to the last."""
    planned = outline.segments[index]
    last = index == len(outline.segments) - 1
    return (0 if index == 0 else planned.start_ms), (
        outline.duration_ms if last else planned.end_ms
    )


@pytest.mark.slow
@EXAMPLES
@given(plan=sessions())
def test_any_plan_gives_a_script_or_a_clear_error(plan: Session) -> None:
    try:
        script = script_of(outline_of(plan))
    except CuegenError:
        return
    assert script.candidates
