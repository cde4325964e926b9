"""The arc of a segment: what stands between two lines on technique, when, and how much of it."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from cuegen.plan.model import Break, Distance, QuietSpan, Session, SplitTarget
from cuegen.script import arc
from cuegen.script.book import PhraseBook
from cuegen.script.candidate import Candidate
from cuegen.script.kinds import CueKind
from cuegen.script.slots import phase_of
from cuegen.targets.resolve import outline as outline_of
from tests.script.marked import cased, replaced
from tests.script.outlines import by_id, of_kind, onsets, plain, script_of, session
from tests.targets.plans import COOL_DOWN, PADDLE, ROW, WARM_UP, entry, minutes

LEAD = 30_000
PIECE = session(entry(ROW, 12, 20, targets=(SplitTarget(125_000),)), entry(COOL_DOWN, 3))
"""Twelve minutes of work from the first stroke on, all of one piece."""

ENCOURAGED = cased(CueKind.ENCOURAGE, ("middle", "late"))


def words(plan: Session, book: PhraseBook | None = None, segment: int = 0) -> list[Candidate]:
    """Return the words between lines on technique, in order of time."""
    found = [c for c in script_of(plan, book).candidates if ".word." in c.id]
    return sorted((c for c in found if c.segment == segment), key=lambda c: c.prefer_ms)


def part(cue: Candidate) -> float:
    """Return which part of the piece lies before a word, as it is wanted."""
    return (cue.prefer_ms - LEAD) / 720_000


class TestPhases:
    def test_the_number_to_hold_comes_first_and_then_now_and_then(self) -> None:
        found = words(PIECE)
        assert found[0].kind is CueKind.HOLD
        held = [cue.prefer_ms for cue in found if cue.kind is CueKind.HOLD]
        assert len(held) > 2
        assert all(after - before >= arc.HOLD_EVERY_MS for before, after in pairwise(held))

    def test_between_them_heart_and_head_take_turns(self) -> None:
        kinds = [
            cue.kind
            for cue in words(replace(PIECE, talk_share=0.3))
            if cue.kind is not CueKind.HOLD
        ]
        assert set(kinds) == {CueKind.ENCOURAGE, CueKind.EFFORT_CHECK}
        assert kinds.count(CueKind.ENCOURAGE) > kinds.count(CueKind.EFFORT_CHECK) > 2
        checks = [n for n, kind in enumerate(kinds) if kind is CueKind.EFFORT_CHECK]
        assert all(after - before > 1 for before, after in pairwise(checks))

    def test_a_word_late_in_a_piece_is_one_for_late_in_a_piece(self) -> None:
        lifts = [c for c in words(PIECE, ENCOURAGED) if c.kind is CueKind.ENCOURAGE]
        late = {cue.wordings[0].text.split()[0] == "Late" for cue in lifts if part(cue) >= 0.7}
        before = {cue.wordings[0].text.split()[0] == "Middle" for cue in lifts if part(cue) < 0.7}
        assert (late, before) == ({True}, {True})

    @pytest.mark.parametrize(
        ("at_ms", "phase"),
        [(0, "early"), (39_999, "early"), (40_000, "middle"), (70_000, "late"), (99_999, "late")],
    )
    def test_a_segment_has_three_phases(self, at_ms: int, phase: str) -> None:
        laid = outline_of(session(entry(ROW, 100 / 60)))
        assert phase_of(laid.segments[0], LEAD + at_ms) == phase

    def test_a_warm_up_hears_easy_words_alone(self) -> None:
        plan = session(entry(WARM_UP, 8, 18), entry(ROW, 4, 18))
        assert {cue.kind for cue in words(plan)} == {CueKind.SETTLE}

    def test_breaks_and_cool_downs_hear_none(self) -> None:
        plan = session(
            entry(ROW, 4, repeats=2, rest=Break(PADDLE, minutes(5))), entry(COOL_DOWN, 9)
        )
        assert words(plan, segment=1) == words(plan, segment=3) == []


class TestAmount:
    def at_share(self, share: float) -> list[Candidate]:
        return words(replace(PIECE, talk_share=share))

    def test_a_smaller_share_has_fewer_words(self) -> None:
        counts = [len(self.at_share(share)) for share in (0.2, 0.25, 0.3, 0.35, 0.4)]
        assert counts[0] == 0
        assert all(fewer < more for fewer, more in pairwise(counts))

    def test_there_are_never_more_than_so_many_between_two_lines(self) -> None:
        assert len(self.at_share(0.9)) == len(self.at_share(0.6))

    def test_a_small_share_leaves_the_lines_on_technique_as_they_are(self) -> None:
        def technique(share: float) -> set[str]:
            script = script_of(replace(PIECE, talk_share=share))
            return {c.id for c in script.candidates if c.kind is CueKind.TECHNIQUE}

        assert technique(0.1) == technique(0.35) != set()

    def test_words_stand_between_lines_and_apart_from_them(self) -> None:
        script = script_of(PIECE)
        lines = sorted(c.prefer_ms for c in script.candidates if c.kind is CueKind.TECHNIQUE)
        for cue in words(PIECE):
            assert lines[0] < cue.prefer_ms < lines[-1]
            assert min(abs(cue.prefer_ms - at_ms) for at_ms in lines) > 2_000

    def test_they_move_only_a_little(self) -> None:
        for cue in words(PIECE):
            first, last = onsets(cue)
            assert cue.prefer_ms - first <= arc.NARROW_MS
            assert last - cue.prefer_ms <= arc.NARROW_MS

    def test_they_do_not_come_like_clockwork(self) -> None:
        steps = {after.prefer_ms - before.prefer_ms for before, after in pairwise(words(PIECE))}
        assert len(steps) > len(words(PIECE)) // 2

    def test_none_is_written_for_a_span_of_quiet(self) -> None:
        plan = replace(PIECE, quiet=(QuietSpan(200_000, 400_000),))
        wanted = [cue.prefer_ms - LEAD for cue in words(plan)]
        assert wanted
        assert not [at_ms for at_ms in wanted if 200_000 <= at_ms < 400_000]

    def test_where_a_kind_has_no_fresh_words_another_takes_its_place(self) -> None:
        mute = replaced(CueKind.HOLD, [{"lines": ["Hold it."]}])
        ours, theirs = words(PIECE), words(PIECE, mute)
        assert [cue.id for cue in theirs] == [cue.id for cue in ours]
        assert [cue.kind for cue in theirs].count(CueKind.HOLD) == 1

    def test_what_found_no_words_of_any_kind_is_counted_once(self) -> None:
        few = replaced(CueKind.HOLD, [{"lines": ["Hold it."]}])
        few = replaced(CueKind.EFFORT_CHECK, [{"lines": ["Check it."]}], few)
        few = replaced(CueKind.ENCOURAGE, [{"lines": ["Well held."]}], few)
        script = script_of(PIECE, few)
        assert len(words(PIECE, few)) == 3
        assert script.unsaid == len(words(PIECE)) - 3


class TestProgress:
    def told(self, plan: Session) -> list[str]:
        """Return the segments that tell it."""
        return sorted(c.id[:3] for c in of_kind(script_of(plan), CueKind.PROGRESS))

    def test_every_piece_but_the_first_and_the_last_and_every_break_tells_it(self) -> None:
        """The first has nothing behind it, the last nothing ahead."""
        plan = session(entry(ROW, 4, repeats=4, rest=Break(PADDLE, minutes(1.5))))
        assert self.told(plan) == ["s02", "s03", "s04", "s05", "s06"]

    def test_it_is_told_once_a_piece_is_well_under_way(self) -> None:
        plan = session(entry(ROW, 4, repeats=3, rest=Break(PADDLE, minutes(1))))
        cue = by_id(script_of(plan))["s03.progress"]
        assert cue.prefer_ms - LEAD == 300_000 + 240_000 * 2 // 5

    def test_a_short_piece_and_a_short_break_are_spared(self) -> None:
        plan = session(entry(ROW, 1.9, repeats=4, rest=Break(PADDLE, minutes(0.9))))
        assert self.told(plan) == []

    def test_a_break_after_metres_does_not_say_what_is_done(self) -> None:
        """They are only expected to be over; the pieces between say what is behind them."""
        plan = session(entry(ROW, Distance(1_000), 24, repeats=4, rest=Break(PADDLE, minutes(2))))
        assert self.told(plan) == ["s03", "s05"]


def test_the_plain_book_has_a_word_for_every_place_of_a_piece_of_twelve_minutes() -> None:
    assert script_of(PIECE, plain()).unsaid == 0
