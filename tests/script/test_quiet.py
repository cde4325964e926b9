"""Quiet: how long, where, announced in so many words, and kept."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import pairwise

import pytest

from cuegen.plan.model import Break, QuietSpan, SayLine, Session
from cuegen.schedule.cuesheet import CueSheet
from cuegen.script.book import PhraseBook
from cuegen.script.candidate import Script
from cuegen.script.kinds import CueKind
from cuegen.script.quiet import AFTER_MS, BEFORE_MS
from cuegen.targets.resolve import outline as outline_of
from tests.script.every_case import every_case
from tests.script.marked import cased
from tests.script.outlines import of_kind, onsets, placed_sheet, script_of, session
from tests.script.truth import false_statements
from tests.targets.plans import COOL_DOWN, PADDLE, ROW, WARM_UP, entry, minutes

LEAD = 30_000
SESSIONS = every_case()
CASED = cased(CueKind.QUIET, ("whole", "calls"))


def spans(plan: Session) -> list[tuple[int, int]]:
    """Return the spans of quiet, in milliseconds of the rowing clock."""
    return [(start - LEAD, end - LEAD) for start, end in script_of(plan).quiet]


def lengths_s(plan: Session) -> list[float]:
    return [(end - start) / 1_000 for start, end in spans(plan)]


def heard(plan: Session, book: PhraseBook | None = None) -> CueSheet:
    outline = outline_of(plan)
    return placed_sheet(outline, script_of(outline, book))


class TestLength:
    @pytest.mark.parametrize(
        ("length", "wanted"),
        [
            (3.4, []),
            (3.5, [30]),
            (4.9, [30]),
            (5, [60]),
            (11, [60]),
            (12, [60, 60]),
            (18, [60] * 3),
        ],
    )
    def test_follows_the_length_of_the_piece(self, length: float, wanted: list[int]) -> None:
        """About a minute in every six: our own judgement."""
        plan = session(entry(ROW, length), entry(COOL_DOWN, 3))
        assert lengths_s(plan) == wanted

    def test_a_talkative_session_is_quiet_for_half_a_minute_at_a_time(self) -> None:
        plan = session(entry(ROW, 12), entry(COOL_DOWN, 3), talk_share=0.4)
        assert lengths_s(plan) == [30, 30]

    def test_only_work_is_left_in_quiet(self) -> None:
        plan = session(entry(WARM_UP, 10), entry(ROW, 5), entry(PADDLE, 10), entry(COOL_DOWN, 10))
        (span,) = spans(plan)
        assert 600_000 < span[0] < span[1] < 900_000


class TestPlace:
    @pytest.mark.parametrize("length", [3.5, 4, 5, 8, 10, 12, 20])
    def test_is_clear_of_the_checks_that_must_be_heard(self, length: float) -> None:
        """The half of the piece and the last two minutes': at the instants that suit them."""
        plan = session(entry(ROW, length), entry(COOL_DOWN, 3))
        must = [length * 60_000 - left * 1_000 for left in (120, 60, 30, 20, 10)]
        must += [length * 30_000] if length >= 4 else []  # shorter ones have no half of their own
        assert spans(plan)
        for start, end in spans(plan):
            assert not [at_ms for at_ms in must if start - BEFORE_MS < at_ms < end + AFTER_MS]

    def test_is_clear_of_the_calls(self) -> None:
        """A line of the coach's own in the middle of where the quiet would be."""
        plan = session(entry(ROW, 10), entry(COOL_DOWN, 12))
        ((start, end),) = spans(plan)
        at_ms = (start + end) // 2
        ((moved, until),) = spans(replace(plan, say=(SayLine("Windows", at_ms=at_ms),)))
        assert (moved, until) != (start, end)
        assert not moved - BEFORE_MS < at_ms < until + AFTER_MS

    def test_where_nothing_is_clear_there_is_none(self) -> None:
        plan = session(entry(ROW, 5), entry(COOL_DOWN, 3))
        lines = tuple(SayLine("Again", at_ms=at_s * 1_000) for at_s in range(20, 300, 20))
        assert spans(replace(plan, say=lines)) == []

    def test_the_spans_of_a_long_piece_are_spread_over_it(self) -> None:
        plan = session(entry(ROW, 24), entry(COOL_DOWN, 3))
        starts = [start for start, _ in spans(plan)]
        assert len(starts) == 4
        assert all(after - before > 240_000 for before, after in pairwise(starts))


class TestOfThePlan:
    PLAN = replace(
        session(entry(WARM_UP, 4, 18), entry(ROW, 8, 20), entry(COOL_DOWN, 3)),
        quiet=(QuietSpan(300_000, 345_000),),
    )

    def test_its_own_spans_are_taken_as_they_are_and_no_others(self) -> None:
        assert spans(self.PLAN) == [(300_000, 345_000)]

    def test_its_spans_stand_in_order_of_time_however_they_are_written(self) -> None:
        early, late = QuietSpan(260_000, 280_000), QuietSpan(300_000, 345_000)
        plan = replace(self.PLAN, quiet=(late, early))
        assert spans(plan) == [(260_000, 280_000), (300_000, 345_000)]
        assert false_statements(heard(plan)) == []

    def test_it_may_have_quiet_over_a_change_with_the_calls_in_it(self) -> None:
        plan = replace(self.PLAN, quiet=(QuietSpan(200_000, 270_000),))
        (cue,) = of_kind(script_of(plan, CASED), CueKind.QUIET)
        assert {wording.text.split()[0] for wording in cue.wordings} == {"Calls"}
        assert false_statements(heard(plan)) == []

    def test_where_no_call_lies_in_it_it_is_announced_as_whole(self) -> None:
        (cue,) = of_kind(script_of(self.PLAN, CASED), CueKind.QUIET)
        assert {wording.text.split()[0] for wording in cue.wordings} == {"Whole"}

    def test_its_length_is_told_to_the_second(self) -> None:
        (cue,) = of_kind(script_of(self.PLAN), CueKind.QUIET)
        said = {wording.text for wording in cue.wordings if "econd" in wording.text}
        assert all("forty-five seconds" in text.lower() for text in said)
        assert said

    @pytest.mark.parametrize("before_ms", [500, 4_000])
    def test_a_call_right_before_it_is_not_heard_after_the_announcement(
        self, before_ms: int
    ) -> None:
        """Where there is no room between the two, nothing is announced."""
        plan = replace(self.PLAN, say=(SayLine("Well rowed", at_ms=300_000 - before_ms),))
        assert false_statements(heard(plan)) == []

    def test_quiet_from_the_first_stroke_on_is_not_announced(self) -> None:
        """The opening has no room for it: its words end with the count."""
        plan = replace(self.PLAN, quiet=(QuietSpan(0, 60_000),))
        assert of_kind(script_of(plan), CueKind.QUIET) == []


def test_the_sessions_are_quiet_now_and_then() -> None:
    """Else the promises below would hold of nothing."""
    assert sum(len(script_of(outline).quiet) for outline in SESSIONS.values()) > 30


@cache
def written(name: str) -> Script:
    return script_of(SESSIONS[name])


@cache
def sheet_of(name: str) -> CueSheet:
    return placed_sheet(SESSIONS[name], written(name))


@pytest.mark.parametrize("name", SESSIONS)
class TestHeard:
    """On sheets with lines as long as the fake voice's."""

    def test_only_firm_cues_speak_in_it(self, name: str) -> None:
        sheet = sheet_of(name)
        for span in sheet.quiet:
            inside = [
                c for c in sheet.cues if c.end_ms > span.start_ms and c.start_ms < span.end_ms
            ]
            assert [cue.id for cue in inside if not cue.firm] == []

    def test_an_announcement_ends_as_it_begins(self, name: str) -> None:
        sheet = sheet_of(name)
        starts = [span.start_ms for span in sheet.quiet]
        told = [cue for cue in sheet.cues if cue.kind is CueKind.QUIET]
        assert {cue.end_ms for cue in told} <= set(starts)
        assert len(told) == len(of_kind(written(name), CueKind.QUIET))

    def test_nothing_else_is_wanted_in_it(self, name: str) -> None:
        """Where the plan names no quiet, what could not be said in it is not even written."""
        script = written(name)
        if SESSIONS[name].session.quiet:
            pytest.skip("the plan's own quiet lies where the plan wants it")
        for cue in script.candidates:
            if not cue.firm and cue.kind is not CueKind.QUIET:
                assert not any(start <= cue.prefer_ms < end for start, end in script.quiet), cue.id

    def test_an_announcement_is_wanted_right_before_it(self, name: str) -> None:
        script = written(name)
        starts = {start for start, _ in script.quiet}
        for cue in of_kind(script, CueKind.QUIET):
            assert cue.ends_window
            assert onsets(cue)[1] in starts


def test_a_piece_among_pieces_keeps_its_own_quiet() -> None:
    plan = session(entry(ROW, 5, repeats=3, rest=Break(PADDLE, minutes(2))))
    found = spans(plan)
    assert [start // 420_000 for start, _ in found] == [0, 1, 2]
