"""A history on the terminal."""

from __future__ import annotations

import pytest

from cuegen.cli.progress_show import show_progress
from cuegen.targets.history import History
from tests.targets.histories import history, piece


def shown(made: History, capsys: pytest.CaptureFixture[str]) -> list[str]:
    show_progress(made)
    lines = (" ".join(line.split()) for line in capsys.readouterr().out.splitlines())
    return [line for line in lines if line]


def test_every_piece_is_a_row_and_a_week_is_named_once(capsys: pytest.CaptureFixture[str]) -> None:
    lines = shown(history(), capsys)
    assert lines[:2] == [
        "Tern autumn, Maren Holt",
        "week day rate target held difference work per stroke",
    ]
    assert lines[3:5] == [
        "1 2031-10-07 18 2:16.2 2:16.0 -0.2 464 J",
        "2031-10-07 20 2:12.5 2:12.4 -0.1 452 J",
    ]
    assert "3 easy 2031-10-21 18 2:19.0 2:18.8 -0.2 436 J" in lines
    assert len([line for line in lines if " J" in line and "2031" in line]) == 16


def test_a_missed_target_has_a_star_and_the_star_is_explained(
    capsys: pytest.CaptureFixture[str],
) -> None:
    lines = shown(history(), capsys)
    assert "2031-10-30 24 2:02.5 2:03.9 +1.4* 460 J" in lines
    assert "Targets met within 0.5 s: 15 of 16; * more than that over." in lines
    assert sum("*" in line for line in lines) == 2


def test_what_moved_and_what_was_easy_are_said(capsys: pytest.CaptureFixture[str]) -> None:
    lines = shown(history(), capsys)
    moved = "Rate 18, week 1 to 4: 2:16.0 to 2:11.0, 5.0 s faster, work per stroke +12 %."
    assert moved in lines
    assert "Easy, so not compared: week 3." in lines


def test_what_comes_next_is_said_with_its_reasons_and_the_coach_goes_before(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert shown(history(), capsys)[-6:] == [
        "What comes next:",
        "rate 16 at 2:11.0: same splits as week 4, two strokes lower",
        "rate 18 at 2:08.1: same splits as week 4, two strokes lower",
        "rate 20 at 2:05.2: same splits as week 4, two strokes lower",
        "rate 24 by effort, about 90 %: the target at 24 was missed: effort leads",
        "Targets are offers; what a qualified coach says goes before them.",
    ]


def test_a_slower_split_is_a_minus_in_work(capsys: pytest.CaptureFixture[str]) -> None:
    made = history(pieces=(piece(20, "2:10.0"), piece(20, "2:11.2", week=2, day=8)), next_week=())
    assert shown(made, capsys)[-2:] == [
        "Rate 20, week 1 to 2: 2:10.0 to 2:11.2, 1.2 s slower, work per stroke -3 %.",
        "No piece had a target.",
    ]


def test_nothing_rowed_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    made = history(pieces=(), next_week=())
    assert shown(made, capsys) == ["Tern autumn, Maren Holt", "Nothing rowed yet."]


def test_words_that_would_drive_a_terminal_do_not(capsys: pytest.CaptureFixture[str]) -> None:
    show_progress(history(rower="Kit \x1b[2J[red]\u202e", block="[bold]b[/bold]"))
    first = capsys.readouterr().out.splitlines()[0]
    assert first == "[bold]b[/bold], Kit [2J[red]"
