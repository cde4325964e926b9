"""Wordings are asked for only where they can matter, and that costs nothing of the optimum."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuegen.plan.reading import load_plan
from cuegen.schedule.board import Board
from cuegen.schedule.firm import place_firm
from cuegen.schedule.offers import Voice, offers_of
from cuegen.schedule.optimum import optimum
from cuegen.schedule.place import place
from cuegen.schedule.rules import Frame, frame_of
from cuegen.script.candidate import Candidate, Line
from cuegen.script.candidates import build_candidates
from cuegen.targets.resolve import outline
from cuegen.targets.results import load_results
from tests.schedule.test_place import _crowds, floating, frame, measure
from tests.script.outlines import plain
from tests.voice.fake import fake_length_ms

EXAMPLES = sorted(Path("examples").glob("*.yaml"))


def greatest_over_all_wordings(candidates: list[Candidate], laid: Frame) -> int:
    """Return the optimum's worth with every wording of every cue on offer."""
    board = Board(laid)
    for cue in place_firm([c for c in candidates if c.firm], laid, measure):
        board.put(cue)
    loose = sorted((c for c in candidates if not c.firm), key=lambda c: (c.prefer_ms, c.id))
    whole = offers_of(loose, board, Voice(measure), {c.id for c in loose})
    return optimum(whole.problem).worth


@given(crowd=_crowds(), cap=st.floats(0.05, 0.4))
def test_fewer_wordings_asked_for_come_to_the_same_worth(
    crowd: list[Candidate], cap: float
) -> None:
    laid = frame(cap=cap)  # the cap of the one stretch limits; the session's share does not
    found = place(crowd, laid, measure)
    if found.proven:
        assert found.worth == greatest_over_all_wordings(crowd, laid)


class TestWhatIsMeasured:
    def asked(self, *crowd: Candidate, cap: float = 1.0) -> set[str]:
        heard: set[str] = set()

        def listening(line: Line) -> int:
            heard.add(line.text)
            return measure(line)

        place(crowd, frame(cap=cap), listening)
        return heard

    def test_only_the_fullest_wording_where_all_have_room(self) -> None:
        one = floating("a", (5_000, 5_000), "x" * 20, "y" * 10)
        other = floating("b", (9_000, 9_000), "z" * 20, "w" * 10)
        assert self.asked(one, other) == {"x" * 20, "z" * 20}

    def test_all_wordings_of_both_where_one_is_in_the_way_of_the_other(self) -> None:
        one = floating("a", (5_000, 5_000), "x" * 20, "y" * 10)
        other = floating("b", (6_000, 6_000), "z" * 20, "w" * 10)
        assert self.asked(one, other) == {"x" * 20, "y" * 10, "z" * 20, "w" * 10}

    def test_a_cue_far_from_any_trouble_is_left_alone(self) -> None:
        trouble = [
            floating("a", (5_000, 5_000), "x" * 20, "y" * 10),
            floating("b", (6_000, 6_000), "z" * 20, "w" * 10),
        ]
        assert "v" * 10 not in self.asked(*trouble, floating("c", (30_000, 30_000), "u", "v" * 10))

    def test_lines_are_told_of_before_they_are_measured(self) -> None:
        told: set[str] = set()

        def knowing(line: Line) -> int:
            assert line.speed != 1.0 or line.text in told
            return measure(line)

        crowd = [
            floating("a", (5_000, 5_000), "x" * 20, "y" * 10),
            floating("b", (6_000, 6_000), "z" * 20, "w" * 10),
        ]
        place(crowd, frame(), knowing, lambda lines: told.update(line.text for line in lines))
        assert told == {"x" * 20, "y" * 10, "z" * 20, "w" * 10}


@pytest.mark.slow
@pytest.mark.parametrize("plan", EXAMPLES, ids=lambda path: path.stem)
def test_an_example_comes_to_the_same_worth(plan: Path) -> None:
    laid = outline(load_plan(plan), load_results(plan.parent / "results.csv"))
    script = build_candidates(laid, plain())
    wide = replace(frame_of(laid, script.quiet), budget_ms=laid.duration_ms)
    board = Board(wide)
    for cue in place_firm([c for c in script.candidates if c.firm], wide, fake_length_ms):
        board.put(cue)
    loose = [c for c in script.candidates if not c.firm]
    whole = offers_of(loose, board, Voice(fake_length_ms), {c.id for c in loose})
    found = place(script.candidates, wide, fake_length_ms)
    assert found.worth == optimum(whole.problem).worth
