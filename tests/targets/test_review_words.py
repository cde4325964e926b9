"""What is said of a session: short, factual, and kind."""

from __future__ import annotations

from typing import Any

import pytest

from cuegen.targets.review_cells import (
    asked_words,
    course_words,
    felt_words,
    gained_words,
    length_words,
    per_cent,
    piece_name,
    rate_words,
    seconds,
)
from cuegen.targets.review_words import COACH, notes, summary
from cuegen.targets.reviewed import PieceReview, Review
from tests.targets.reviews import STEPS, good, held, reviewed

EASY = "2 x 4:00 r20/22 @2:10/2:07 70%"


def one_piece(session: str, parts_ms: tuple[int, ...] = (), **more: Any) -> PieceReview:
    """A piece rowed at 2:00 and 20."""
    (piece,) = reviewed(session, held(1, 20, 120_000, *parts_ms, **more)).pieces
    return piece


# ------------------------------------------------------------------ summary


def test_a_good_session_in_three_lines() -> None:
    assert summary(good()) == (
        "All 4 pieces were rowed, 16:00 at a mean of 2:09.4. All 4 targets were held within 0.5 s.",
        "Each step was worth 2.7 to 3.4 s per two strokes, within the usual 2 to 5 s.",
        "Piece 2 was the steadiest, its parts within 0.4 s.",
    )


def test_a_hard_session_names_what_stands_out_and_a_coach() -> None:
    found = reviewed(
        STEPS,
        held(2, 17, 134_000, felt_pct=75),
        held(3, 19, 131_000),
        held(5, 23, 130_000, 127_000, 130_200, 133_000, felt_pct=100),
    )
    assert summary(found) == (
        "3 of 4 pieces were rowed, 12:00 at a mean of 2:11.6. "
        "2 of 3 targets were held within 0.5 s; piece 4 was 5.0 s slower.",
        "From 19 to 23 the step was worth 0.5 s per two strokes, below the usual 2 to 5 s, "
        "with 15 % less work in each stroke. The other step lay within.",
        "The parts of piece 4 lay within 6.0 s. Piece 4 faded by 6.0 s. "
        f"Piece 4 felt like 100 % where 85 % was planned. {COACH}",
    )


@pytest.mark.parametrize(
    ("fields", "named"),
    [
        ({"parts_ms": (120_000, 122_999)}, False),
        ({"parts_ms": (120_000, 123_000)}, True),
        ({"parts_ms": (123_000, 120_000)}, False),
        ({"felt_pct": 84}, False),
        ({"felt_pct": 85}, True),
        ({"felt_pct": 50}, False),
    ],
)
def test_a_coach_is_named_from_3_s_of_fading_and_15_per_cent_of_effort_on(
    fields: dict[str, Any], named: bool
) -> None:
    """Our own judgement; 70 % was planned."""
    piece = one_piece("4:00 r20 @2:00 70%", **fields)
    found = reviewed("4:00 r20 @2:00 70%", piece.rowed)
    assert (COACH in " ".join(summary(found))) == named


@pytest.mark.parametrize(
    ("splits", "said"),
    [
        ((130_000, 127_000), "All 2 targets were held within 0.5 s."),
        ((130_000, 126_000), "1 of 2 targets was held within 0.5 s; piece 2 was 1.0 s faster."),
        (
            (131_200, 126_000),
            "0 of 2 targets were held within 0.5 s; "
            "piece 1 was 1.2 s slower and piece 2 was 1.0 s faster.",
        ),
    ],
)
def test_targets_are_told_by_piece(splits: tuple[int, int], said: str) -> None:
    rowed = (held(1, 20, splits[0]), held(2, 22, splits[1]))
    assert summary(reviewed(EASY, *rowed))[0].endswith(said)


def test_of_many_targets_only_the_numbers_are_told() -> None:
    splits = (129_000, 130_000, 131_000, 128_000, 131_500)
    rowed = [held(n, 20, split) for n, split in enumerate(splits, 1)]
    said = summary(reviewed("5 x 4:00 r20 @2:10", *rowed))[0]
    assert said.endswith("1 of 5 targets was held within 0.5 s; 2 were faster and 2 were slower.")


@pytest.mark.parametrize(
    ("session", "rowed_ms", "said"),
    [
        ("4:00 r20 @2:10", 130_000, "The target was held within 0.5 s."),
        ("4:00 r20 @2:10", 131_000, "Piece 1 was 1.0 s slower than its target."),
        ("4:00 r20 80%", 131_000, "No split was asked: effort led."),
    ],
)
def test_one_piece_is_told_alone(session: str, rowed_ms: int, said: str) -> None:
    (line,) = summary(reviewed(session, held(1, 20, rowed_ms)))
    assert line.startswith("The one piece was rowed, 4:00 at a mean of 2:1")
    assert line.endswith(said)


@pytest.mark.parametrize(
    ("splits", "said"),
    [
        (
            (130_000, 127_000),
            "The step from 20 to 22 was worth 3.0 s per two strokes, within the usual 2 to 5 s.",
        ),
        (
            (130_000, 124_000),
            "From 20 to 22 the step was worth 6.0 s per two strokes, above the usual 2 to 5 s, "
            "with 5 % more work in each stroke.",
        ),
        (
            (130_000, 131_000),
            "From 20 to 22 the step cost 1.0 s per two strokes, below the usual 2 to 5 s, "
            "with 11 % less work in each stroke.",
        ),
    ],
)
def test_a_step_is_told_with_what_it_was_worth(splits: tuple[int, int], said: str) -> None:
    rowed = (held(1, 20, splits[0]), held(2, 22, splits[1]))
    assert summary(reviewed(EASY, *rowed))[1] == said


def test_a_step_at_constant_work_beyond_the_rule_says_so() -> None:
    """D: from 2:15 at 16 constant work gives 5.2 s."""
    rowed = (held(1, 16, 135_000), held(2, 18, 129_800))
    said = summary(reviewed("2 x 4:00 r16/18 @2:15/2:10", *rowed))[1]
    assert said.endswith("above the usual 2 to 5 s, with the same work in each stroke.")


def test_of_many_steps_outside_only_the_range_is_told() -> None:
    splits = (140_000, 139_000, 132_000, 132_500)
    rowed = [held(n, 16 + 2 * n, split) for n, split in enumerate(splits, 1)]
    said = summary(reviewed("4 x 4:00 r18/20/22/24 @2:20/2:18/2:16/2:14", *rowed))[1]
    assert said == (
        "The 3 steps were worth -0.5 to 7.0 s per two strokes; "
        "3 of them lay outside the usual 2 to 5 s."
    )


def test_of_many_that_faded_only_the_number_is_told() -> None:
    rowed = [held(n, 20, 130_000, 128_000, 132_000, felt_pct=90) for n in (1, 2, 3)]
    said = summary(reviewed("3 x 4:00 r20 @2:10 70%", *rowed))[1]
    assert said == (
        "Piece 1 was the steadiest, its parts within 4.0 s. 3 pieces faded by 3.0 s or more. "
        f"3 pieces felt 15 % or more above the plan. {COACH}"
    )


def test_nothing_rowed_is_said() -> None:
    assert summary(reviewed(STEPS)) == ("None of the plan's pieces was found among the results.",)


# -------------------------------------------------------------------- notes


def test_a_session_as_planned_needs_no_notes() -> None:
    assert notes(good()) == ()


def test_what_does_not_go_with_the_plan_is_noted() -> None:
    found = reviewed(
        "4:00 r18-20 @2:10 (legs); 750m r24; 4:00 80%; 4:00 r24 @2:00",
        held(4, 22, 121_000),
        held(4, 24, 120_000),
        held(9, 30, 110_000, label="sprint"),
        logged_as="Tuesday",
    )
    assert notes(found) == (
        "These results were logged as 'Tuesday'.",
        "Not rowed: piece 1 legs, 4:00 at rate 18-20, 2:10.0.",
        "Not rowed: piece 2, 750 m at rate 24, 80 %.",
        "Not rowed: piece 3, 4:00, 80 %.",
        "Not in the plan: segment 9, 1:50.0 at rate 30, sprint.",
        "Logged once more later, so not counted: segment 4, 2:01.0 at rate 22.",
    )


@pytest.mark.parametrize(
    ("found", "note"),
    [
        (good(logged_as=""), "These results were logged without a title."),
        (
            reviewed(STEPS, held(1, 17, 134_000)),
            "The results' numbers were read as those of the pieces, not of all segments.",
        ),
        (
            reviewed("4:00 r20", held(None, 20, 130_000)),
            "The results have no numbers; they were given to the pieces in their order.",
        ),
        (
            reviewed("4:00 r20; 1:00 r22", held(1, 20, 130_000), held(2, 22, 120_000)),
            "A step between pieces of different lengths says less about the rate.",
        ),
    ],
)
def test_how_results_were_taken_is_noted(found: Review, note: str) -> None:
    assert note in notes(found)


# -------------------------------------------------------------------- cells


@pytest.mark.parametrize(
    ("piece", "words"),
    [
        (one_piece("4:00 r20 @2:00 (legs)"), ("1 legs", "4:00", "20", "2:00.0", "")),
        (one_piece("4:00 r18 @2:00"), ("1", "4:00", "20 (18)", "2:00.0", "")),
        (one_piece("4:00 r18-20 75%"), ("1", "4:00", "20", "75 %", "")),
        (
            one_piece("4:00 r17-18 75%", felt_pct=80),
            ("1", "4:00", "20 (17-18)", "75 %", "80 % (75 %)"),
        ),
        (one_piece("4:00 @2:00", felt_pct=80), ("1", "4:00", "20", "2:00.0", "80 %")),
        (one_piece("4:00 @2:00", duration_ms=180_000), ("1", "3:00 (4:00)", "20", "2:00.0", "")),
        (one_piece("750m @2:00", metres=750.0), ("1", "750 m", "20", "2:00.0", "")),
        (one_piece("750m @2:00", metres=500.0), ("1", "500 m (750 m)", "20", "2:00.0", "")),
    ],
)
def test_cells_show_what_was_asked_where_it_was_another(
    piece: PieceReview, words: tuple[str, ...]
) -> None:
    assert words == (
        piece_name(piece.planned),
        length_words(piece),
        rate_words(piece),
        asked_words(piece.planned),
        felt_words(piece),
    )


@pytest.mark.parametrize(
    ("change_ms", "text"),
    [(200, "+0.2 s"), (-1_249, "-1.2 s"), (0, "0.0 s"), (-49, "0.0 s"), (None, "")],
)
def test_a_change_carries_its_sign(change_ms: int | None, text: str) -> None:
    assert seconds(change_ms) == text


def test_per_cent_too() -> None:
    assert [per_cent(value) for value in (2.34, -0.04, None)] == ["+2.3 %", "0.0 %", ""]


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        ((120_000, 121_600), "faded by 1.6 s"),
        ((120_800, 120_000), "built by 0.8 s"),
        ((120_000, 120_500), "even"),
    ],
)
def test_the_course_of_a_piece_in_words(parts: tuple[int, ...], words: str) -> None:
    found = one_piece("4:00 @2:00", parts_ms=parts).steadiness
    assert found is not None
    assert course_words(found) == words


@pytest.mark.parametrize(
    ("splits", "words"),
    [((130_000, 126_800), "3.2 s faster (3.0 s)"), ((130_000, 130_400), "0.4 s slower (3.0 s)")],
)
def test_what_a_step_gained_stands_beside_what_was_asked(
    splits: tuple[int, int], words: str
) -> None:
    found = reviewed(EASY, held(1, 20, splits[0]), held(2, 22, splits[1]))
    assert [gained_words(step) for step in found.steps] == [words]
