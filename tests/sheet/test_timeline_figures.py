"""Big figures: three rows, equal widths, every digit its own shape."""

from __future__ import annotations

import pytest

from cuegen.sheet.timeline_figures import HEIGHT, big_rows, can_draw


def test_a_split_is_drawn() -> None:
    assert big_rows("2:09.4") == (
        "▀▀█ ▄ █▀█ █▀█   █ █",
        "█▀▀ ▄ █ █ ▀▀█   ▀▀█",
        "▀▀▀   ▀▀▀ ▀▀▀ ▀   ▀",
    )


def test_a_band_and_an_effort_are_drawn() -> None:
    assert big_rows("18-20")[1] == " █  █▀█ ▀▀ █▀▀ █ █"
    assert big_rows("75%")[0] == "▀▀█ █▀▀ ▀ █"


def test_no_two_characters_look_alike() -> None:
    shapes = {big_rows(ch) for ch in "0123456789:.-%"}
    assert len(shapes) == 14
    assert all(len(rows) == HEIGHT for rows in shapes)


@pytest.mark.parametrize("text", ["", "18\x1b", "r18", "eighteen"])
def test_what_has_no_shape_is_not_drawn(text: str) -> None:
    assert not can_draw(text)


def test_what_a_rate_or_a_target_may_hold_is_drawn() -> None:
    assert can_draw("0123456789:.-%")
