"""Technique: a theme is explained, deepened, recalled and held on to; a piece has its own."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from itertools import groupby, pairwise

import pytest

from cuegen.errors import PlanError
from cuegen.plan.model import Break, Session
from cuegen.script.book import PhraseBook
from cuegen.script.candidate import Candidate, Script
from cuegen.script.kinds import CueKind
from cuegen.script.themes import load_themes
from tests.script.marked import taught
from tests.script.outlines import of_kind, plain, script_of, session
from tests.targets.plans import COOL_DOWN, PADDLE, REST, ROW, WARM_UP, entry, minutes

THEMES = tuple(theme.name for theme in load_themes())
TAUGHT = taught(THEMES)
"""A book with more lines of every theme than any session here can use up."""


def pieces(length: float, count: int, rate: int = 20, theme: str | None = None) -> Session:
    rows = entry(ROW, length, rate, repeats=count, rest=Break(PADDLE, minutes(1)))
    return session(replace(rows, themes=(theme,) if theme else ()))


def lines(plan: Session, book: PhraseBook = TAUGHT) -> list[Candidate]:
    """Return the lines on technique, in order of time."""
    return in_order(script_of(plan, book))


def in_order(script: Script) -> list[Candidate]:
    return sorted(of_kind(script, CueKind.TECHNIQUE), key=lambda cue: cue.prefer_ms)


def cases(cues: list[Candidate]) -> list[str]:
    """Return which case each line was written for: the first word it says."""
    return [cue.wordings[0].text.split()[0].lower() for cue in cues]


class TestStages:
    def test_each_theme_is_explained_first_then_deepened_then_recalled(self) -> None:
        by_theme: dict[str, list[str]] = defaultdict(list)
        cues = lines(pieces(6, 8))
        for cue, case in zip(cues, cases(cues), strict=True):
            assert cue.theme is not None
            by_theme[cue.theme].append(case)
        assert len(by_theme) > 3
        for told in by_theme.values():
            plainly = [case for case in told if case != "encourage"]
            stages = ["explain", "deepen", *["remind"] * len(plainly)]
            assert plainly == stages[: len(plainly)]

    def test_a_theme_is_held_on_to_at_the_end_of_a_piece_once_it_was_taught(self) -> None:
        told = cases(lines(pieces(4, 1, theme="catch")))
        assert told == ["explain", "deepen", "encourage"]

    def test_a_warm_up_ends_on_no_such_word(self) -> None:
        cues = lines(session(entry(WARM_UP, 8, 18), entry(ROW, 1, 18)))
        warm_up = [cue for cue in cues if cue.segment == 0]
        assert len(warm_up) > 3
        assert "encourage" not in cases(warm_up)

    def test_the_lesson_goes_on_from_piece_to_piece(self) -> None:
        told = cases(lines(pieces(4, 2, theme="catch")))
        assert told == ["explain", "deepen", "encourage", "remind", "remind", "encourage"]

    def test_where_no_line_of_a_stage_is_fresh_another_stage_speaks(self) -> None:
        """One line of each: what should be deepened once more is recalled, then nothing is left."""
        told = cases(lines(pieces(4, 2, theme="catch"), taught(["catch"], lines=1)))
        assert told == ["explain", "deepen", "encourage", "remind"]


class TestThemes:
    def test_the_plans_theme_is_the_first_and_the_last_of_its_piece(self) -> None:
        cues = lines(pieces(20, 1, theme="posture"))
        assert cues[0].theme == cues[-1].theme == "posture"

    def test_a_short_piece_keeps_to_the_plans_theme(self) -> None:
        assert {cue.theme for cue in lines(pieces(4, 3, theme="posture"))} == {"posture"}

    def test_a_long_piece_goes_on_in_runs_of_three_and_comes_back_to_its_own(self) -> None:
        themes = [cue.theme for cue in lines(pieces(20, 1, theme="posture"))[:-1]]
        runs = [(theme, len(list(run))) for theme, run in groupby(themes)]
        assert [length for _, length in runs[:-1]] == [3] * (len(runs) - 1)
        assert [theme == "posture" for theme, _ in runs] == [n % 2 == 0 for n in range(len(runs))]
        others = [theme for theme, _ in runs[1::2]]
        assert len(set(others)) == len(others) > 1

    def test_pieces_without_a_theme_take_turns(self) -> None:
        firsts = [cue.theme for cue in lines(pieces(3, 4)) if cue.id.endswith(".1")]
        assert len(set(firsts)) == len(firsts) == 4

    @pytest.mark.parametrize("rate", [16, 20, 24, 30])
    def test_what_the_plan_leaves_open_suits_the_rate(self, rate: int) -> None:
        """Which theme belongs to which rate: shared/themes.yaml, common practice, no source."""
        bands = {theme.name: theme.rates for theme in load_themes()}
        for cue in lines(pieces(20, 1, rate=rate)):
            assert cue.theme is not None
            assert bands[cue.theme].low <= rate <= bands[cue.theme].high

    def test_where_a_theme_has_no_fresh_words_the_next_one_is_taught(self) -> None:
        """Of four lines on the catch, the first piece takes three."""
        few = taught(["catch", "legs", "ratio"], lines=1)
        themes = [cue.theme for cue in lines(pieces(4, 2, theme="catch"), few)]
        assert themes[:4] == ["catch"] * 4
        assert len(themes) == 6
        assert "catch" not in themes[4:]

    def test_a_line_that_finds_no_words_at_all_is_counted_once(self) -> None:
        few = taught(["catch", "legs"], lines=1)
        plan = session(replace(entry(ROW, 20, 20), themes=("catch",)), talk_share=0.2)
        wanted, found = lines(plan), script_of(plan, few)
        unsaid = len(wanted) - len(in_order(found))
        assert unsaid > 0
        assert found.unsaid == unsaid
        assert any(n.startswith(f"{unsaid} cues of the kind technique") for n in found.notes)

    def test_an_unknown_theme_is_an_error_with_the_nearest(self) -> None:
        rows = replace(entry(ROW, 4, line=7), themes=("ratoi",))
        with pytest.raises(PlanError, match="no lines on the theme 'ratoi'") as caught:
            script_of(session(rows))
        assert caught.value.where.line == 7
        assert "'ratio'" in caught.value.remedy


class TestPlaces:
    def test_lines_are_a_minute_apart_wherever_in_their_windows_they_stand(self) -> None:
        for before, after in pairwise(lines(pieces(20, 1))):
            latest = max(wording.latest_ms for wording in before.wordings)
            earliest = min(wording.earliest_ms for wording in after.wordings)
            assert earliest - latest >= 60_000

    def test_rests_paddles_and_cool_downs_are_left_in_peace(self) -> None:
        plan = session(
            entry(ROW, 4), entry(PADDLE, 4), entry(REST, 4), entry(ROW, 4), entry(COOL_DOWN, 4)
        )
        assert {cue.segment for cue in lines(plan)} == {0, 3}

    def test_a_piece_under_a_minute_is_too_short_for_a_lesson(self) -> None:
        assert lines(session(entry(ROW, 0.8))) == []
        assert len(lines(session(entry(ROW, 1)))) == 1

    def test_the_first_line_of_a_segment_is_worth_most(self) -> None:
        values = [cue.value for cue in lines(pieces(20, 1))]
        assert values[0] > values[1]
        assert values[1:] == sorted(values[1:], reverse=True)

    def test_none_is_written_for_a_span_of_quiet(self) -> None:
        script = script_of(pieces(20, 1), TAUGHT)
        assert script.quiet
        for cue in in_order(script):
            assert not any(start <= cue.prefer_ms < end for start, end in script.quiet)


def test_the_plain_book_teaches_every_theme_in_every_stage() -> None:
    """With its own words too, the first thing heard on a theme explains it."""
    cues = lines(pieces(6, 8), plain())
    first: dict[str, Candidate] = {}
    for cue in cues:
        first.setdefault(cue.theme or "", cue)
    explanations = [line for line in plain().lines if line.when == "explain"]
    explained = {p.source for line in explanations for p in line.phrases}
    assert len(first) > 3
    for cue in first.values():
        assert {wording.text for wording in cue.wordings} <= explained
