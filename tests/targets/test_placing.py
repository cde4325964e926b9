"""Which result belongs to which piece."""

from __future__ import annotations

import pytest

from cuegen.targets.placing import Numbering, RowedSegment, placed

SEGMENTS = (2, 4, 6)
"""A warm-up, three pieces with paddles between."""


def rowed(*numbers: int | None) -> list[RowedSegment]:
    """Results of these segments, each with a split of its own."""
    return [RowedSegment(number, 20, 120_000 + place) for place, number in enumerate(numbers)]


@pytest.mark.parametrize(
    ("numbers", "numbering", "places", "left"),
    [
        ((2, 4, 6), Numbering.SEGMENTS, {2: 0, 4: 1, 6: 2}, []),
        ((6, 2), Numbering.SEGMENTS, {6: 0, 2: 1}, []),
        ((1, 2, 3), Numbering.PIECES, {2: 0, 4: 1, 6: 2}, []),
        ((1,), Numbering.PIECES, {2: 0}, []),
        ((2, 3), Numbering.PIECES, {4: 0, 6: 1}, []),
        ((2, 4, 5), Numbering.SEGMENTS, {2: 0, 4: 1}, [2]),
        ((1, 2, 4), Numbering.SEGMENTS, {2: 1, 4: 2}, [0]),
        ((None, None, None), Numbering.ORDER, {2: 0, 4: 1, 6: 2}, []),
        ((None, None), Numbering.SEGMENTS, {}, [0, 1]),
        ((2, None), Numbering.SEGMENTS, {2: 0}, [1]),
        ((), Numbering.SEGMENTS, {}, []),
    ],
    ids=[
        "as in the plan",
        "in another order",
        "numbered by pieces alone",
        "the first piece alone",
        "the last pieces alone",
        "one that is no piece, and one too high for a piece",
        "a warm-up logged with segments",
        "without numbers, as many as pieces",
        "without numbers, fewer",
        "one without a number",
        "nothing",
    ],
)
def test_results_are_given_to_pieces(
    numbers: tuple[int | None, ...],
    numbering: Numbering,
    places: dict[int, int],
    left: list[int],
) -> None:
    results = rowed(*numbers)
    found = placed(SEGMENTS, results)
    assert found.numbering is numbering
    assert found.rowed == {segment: results[place] for segment, place in places.items()}
    assert found.unplanned == tuple(results[place] for place in left)
    assert found.again == ()


def test_of_a_piece_that_was_logged_twice_the_last_counts() -> None:
    results = rowed(2, 4, 2)
    found = placed(SEGMENTS, results)
    assert found.rowed == {2: results[2], 4: results[1]}
    assert found.again == (results[0],)
