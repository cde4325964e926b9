"""Which words: fresh ones, the same for a plan, and no name more often than is pleasant."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from cuegen.plan.model import Audience, Block, Break, Rate, Session, SplitTarget
from cuegen.script.book import Occasion, PhraseBook
from cuegen.script.candidates import build_candidates
from cuegen.script.fields import Fields
from cuegen.script.kinds import CueKind
from cuegen.script.phrasebook import read_book
from cuegen.script.picker import LATER_READING, MOST_NAMES, Picker, Reading, same_words
from cuegen.targets.resolve import outline as outline_of
from tests.script.marked import TREES, replaced
from tests.script.outlines import plain, script_of, session
from tests.targets.plans import COOL_DOWN, PADDLE, ROW, WARM_UP, entry, minutes

SETTLE = Occasion(CueKind.SETTLE, Audience.SOLO, "work")
BARE = Reading({}, 0, 10)
PLAN = session(
    entry(WARM_UP, 5, 18),
    entry(ROW, 5, 20, repeats=3, targets=(SplitTarget(125_000),), rest=Break(PADDLE, minutes(2))),
    entry(COOL_DOWN, 4),
    rower="Robin",
)


def book(*lines: str) -> PhraseBook:
    """Return a book whose only lines to settle by are these."""
    return replaced(CueKind.SETTLE, [{"lines": list(lines)}])


def picker(*lines: str, heard: frozenset[str] = frozenset(), plan: Session = PLAN) -> Picker:
    return Picker(book(*lines), plan, heard)


def pick(of: Picker, cue_id: str = "s01.settle", fields: Fields | None = None) -> list[str]:
    reading = Reading(fields or {}, 0, 10)
    return [wording.text for wording in of.wordings(cue_id, SETTLE, (reading,))]


class TestFresh:
    def test_a_line_is_handed_out_once_with_all_its_lengths(self) -> None:
        one = picker("Long and even. / Evenly. / Even.")
        assert pick(one) == ["Long and even.", "Evenly.", "Even."]
        assert pick(one, "s02.settle") == []

    def test_every_line_has_its_turn_before_nothing_is_left(self) -> None:
        one = picker(*TREES)
        said = [text for n in range(len(TREES)) for text in pick(one, f"s{n:02d}.settle")]
        assert sorted(text.lower() for text in said) == sorted(TREES)
        assert pick(one, "s99.settle") == []

    @pytest.mark.parametrize("again", ["Row on.", "row on", "Row - on!"])
    def test_texts_are_the_same_whose_words_are(self, again: str) -> None:
        one = picker("Row on.", again)
        assert len(pick(one)) == 1
        assert pick(one, "s02.settle") == []

    def test_what_was_heard_in_earlier_sessions_does_not_come_again(self) -> None:
        heard = frozenset({same_words("Row on!")})
        assert pick(picker("Row on.", heard=heard)) == []
        assert pick(picker("Row on.", "Settle in.", heard=heard)) == ["Settle in."]

    def test_of_a_line_partly_heard_the_rest_is_used_only_where_no_line_is_fresh(self) -> None:
        heard = frozenset({same_words("Row on now.")})
        assert pick(picker("Row on now. / Row on.", "Settle in.", heard=heard)) == ["Settle in."]
        assert pick(picker("Row on now. / Row on.", heard=heard)) == ["Row on."]

    def test_a_line_with_other_numbers_waits_for_lines_not_spoken_from(self) -> None:
        one = picker("Rate {{ rate | rate }} it is.", "Settle in.")
        firsts = [pick(one, f"s{n:02d}.settle", _rate(n))[0] for n in (18, 20)]
        assert "Settle in." in firsts
        assert pick(one, "s22.settle", _rate(22)) == ["Rate twenty-two it is."]


def _rate(rate: int) -> Fields:
    return {"rate": Rate(rate, rate)}


class TestReadings:
    def test_a_line_is_used_only_where_all_its_values_are_known(self) -> None:
        assert pick(picker("Rate {{ rate | rate }}. / Settle.")) == []
        assert pick(picker("Rate {{ rate | rate }}. / Settle."), fields=_rate(20)) == [
            "Rate twenty.",
            "Settle.",
        ]

    def test_what_a_reading_must_mention_is_mentioned(self) -> None:
        one = picker("Settle.", "Rate {{ rate | rate }}.")
        reading = Reading(_rate(20), 0, 10, must=frozenset({"rate"}))
        texts = [w.text for w in one.wordings("x", SETTLE, (reading,))]
        assert texts == ["Rate twenty."]

    def test_a_brief_reading_leaves_the_fullest_words_out(self) -> None:
        one = picker("Long and even. / Evenly. / Even.")
        brief = Reading({}, 0, 10, brief=True)
        assert [w.text for w in one.wordings("x", SETTLE, (brief,))] == ["Evenly.", "Even."]

    def test_each_reading_has_its_window_and_a_later_one_is_worth_less(self) -> None:
        one = picker("Long and even. / Even.", "Light and quick. / Quick.")
        found = one.wordings("x", SETTLE, (BARE, Reading({}, 20, 30)))
        assert [(w.earliest_ms, w.latest_ms) for w in found] == [(0, 10)] * 2 + [(20, 30)] * 2
        assert [w.part for w in found[2:]] == [w.part * LATER_READING // 100 for w in found[:2]]

    def test_shorter_words_are_worth_less(self) -> None:
        parts = [w.part for w in picker("A b c. / A b. / A.").wordings("x", SETTLE, (BARE,))]
        assert parts[0] == 100
        assert parts == sorted(set(parts), reverse=True)


class TestOrder:
    def test_is_the_same_for_the_same_plan_and_cue(self) -> None:
        assert pick(picker(*TREES)) == pick(picker(*TREES))

    def test_differs_from_cue_to_cue_and_from_title_to_title(self) -> None:
        cues = {pick(picker(*TREES), f"s{n:02d}.settle")[0] for n in range(10)}
        titles = {pick(picker(*TREES, plan=replace(PLAN, title=tree)))[0] for tree in TREES[:10]}
        assert len(cues) > 4
        assert len(titles) > 4

    def test_each_week_of_a_block_begins_with_a_quarter_of_the_lines_of_its_own(self) -> None:
        """Seven lines each: after four weeks all twenty-eight were first."""
        firsts: list[str] = []
        for week in (1, 2, 3, 4):
            one = picker(*TREES, plan=replace(PLAN, block=Block("Spring", week)))
            firsts += [pick(one, f"s{n:02d}.settle")[0] for n in range(len(TREES) // 4)]
        assert sorted(text.lower() for text in firsts) == sorted(TREES)


class TestFirm:
    CHANGE = Occasion(CueKind.RATE_CHANGE, Audience.SOLO, "up")

    def calls(self, count: int, *lines: str) -> list[str]:
        one = Picker(replaced(CueKind.RATE_CHANGE, [{"lines": list(lines)}]), PLAN)
        return [one.firm_texts(f"s{n:02d}.rate", self.CHANGE, _rate(20))[0] for n in range(count)]

    def test_a_call_is_repeated_only_where_nothing_else_is_left(self) -> None:
        lines = [f"{tree} {{{{ rate | rate }}}}" for tree in TREES[:5]]
        said = self.calls(7, *lines)
        assert len(set(said[:5])) == 5
        assert set(said[5:]) <= set(said[:5])

    def test_a_call_may_say_again_what_an_earlier_session_heard(self) -> None:
        heard = frozenset({same_words("Up to twenty.")})
        books = replaced(CueKind.RATE_CHANGE, [{"lines": ["Up to {{ rate | rate }}."]}])
        assert Picker(books, PLAN, heard).firm_texts("x", self.CHANGE, _rate(20)) == [
            "Up to twenty."
        ]

    def test_what_a_call_said_no_floating_cue_says(self) -> None:
        both = "extends: plain\nreplace: [finish, settle]\nlines:\n  finish: [Row on.]\n"
        one = Picker(read_book(f"{both}  settle: [Row on!]\n", base=plain()), PLAN)
        assert one.firm_texts("x", Occasion(CueKind.FINISH, Audience.SOLO), {}) == ["Row on."]
        assert pick(one) == []


class TestNames:
    def test_a_name_is_heard_a_few_times_and_no_more(self) -> None:
        lines = [f"{{{{ rower }}}}, {tree}" for tree in TREES]
        one = picker(*lines)
        named = [pick(one, f"s{n:02d}.settle", {"rower": "Robin"}) for n in range(10)]
        assert sum(bool(texts) for texts in named) == MOST_NAMES

    def test_a_whole_session_keeps_to_it(self) -> None:
        script = script_of(PLAN)
        named = [c for c in script.candidates if any("Robin" in w.text for w in c.wordings)]
        assert 0 < len(named) <= MOST_NAMES


class TestSessions:
    def test_four_sessions_in_a_row_share_no_floating_text(self) -> None:
        """What each was offered is remembered for the next: no text comes twice."""
        heard: frozenset[str] = frozenset()
        seen: Counter[str] = Counter()
        for week in (1, 2, 3, 4):
            plan = replace(PLAN, block=Block("Spring", week))
            script = build_candidates(outline_of(plan), plain(), heard)
            texts = {
                same_words(w.text) for c in script.candidates if not c.firm for w in c.wordings
            }
            heard |= texts
            seen.update(texts)
        assert [text for text, times in seen.items() if times > 1] == []

    def test_a_second_script_of_the_same_plan_is_the_same(self) -> None:
        assert script_of(PLAN) == script_of(PLAN)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Rate up, twenty-two.", "rate up twenty two"),
        ("It's  done!", "it's done"),
        ("ÉLAN", "élan"),
    ],
)
def test_texts_are_compared_by_their_words(text: str, words: str) -> None:
    assert same_words(text) == words
