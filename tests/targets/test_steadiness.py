"""How evenly a piece was rowed; the variation is held to numpy."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuegen.targets.steadiness import Course, steadiness

SPLITS = st.lists(st.integers(70_000, 300_000), min_size=2, max_size=12)


def test_a_piece_by_hand() -> None:
    """D: speeds 1/134.2, 1/133.8 and 1/134.6; slowest less fastest 0.8 s; last less first 0.4 s."""
    found = steadiness((134_200, 133_800, 134_600))
    assert found is not None
    assert (found.spread_ms, found.drift_ms, found.course) == (800, 400, Course.EVEN)
    assert found.variation_pct == pytest.approx(0.24337, abs=5e-5)


@given(SPLITS)
def test_the_variation_is_numpys_standard_deviation_of_speed_by_its_mean(parts: list[int]) -> None:
    """numpy.std as of a whole population (ddof 0), its default."""
    speeds = 500 / (np.array(parts) / 1000)
    found = steadiness(parts)
    assert found is not None
    assert found.variation_pct == pytest.approx(100 * np.std(speeds) / np.mean(speeds), abs=1e-9)


@pytest.mark.parametrize(
    ("last_ms", "course"),
    [
        (120_500, Course.EVEN),
        (120_501, Course.FADED),
        (119_500, Course.EVEN),
        (119_499, Course.BUILT),
    ],
)
def test_half_a_second_from_first_to_last_is_even(last_ms: int, course: Course) -> None:
    found = steadiness((120_000, 140_000, last_ms))
    assert found is not None
    assert (found.course, found.drift_ms) == (course, last_ms - 120_000)


@pytest.mark.parametrize("parts", [(), (120_000,)])
def test_without_parts_nothing_is_said(parts: tuple[int, ...]) -> None:
    assert steadiness(parts) is None
