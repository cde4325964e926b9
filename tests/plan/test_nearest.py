"""An unknown name is answered with the nearest known one, else with all of them."""

from __future__ import annotations

import pytest

from cuegen.plan.nearest import nearest, offer

KNOWN = ("warm-up", "paddle", "rest", "cool-down")


@pytest.mark.parametrize(
    ("name", "guess"),
    [
        ("padle", "paddle"),
        ("Paddle", "paddle"),
        ("warm_up", "warm-up"),
        ("wamr-up", "warm-up"),
        ("cool", "cool-down"),
        ("r", None),
        ("easy", None),
        ("", None),
    ],
)
def test_the_nearest_name(name: str, guess: str | None) -> None:
    assert nearest(name, KNOWN) == guess


def test_an_offer_names_the_nearest_or_all() -> None:
    assert offer("padle", KNOWN) == "Did you mean 'paddle'?"
    assert offer("easy", KNOWN) == "Known are: warm-up, paddle, rest, cool-down."
