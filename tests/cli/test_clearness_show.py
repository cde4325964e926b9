"""What `cuegen check TRACK --clearness` prints of a report."""

from __future__ import annotations

import pytest

from cuegen.cli.clearness_show import CAUTION, tell_clearness
from cuegen.cli.track import tell_verdict
from tests.pages.samples import good_report
from tests.pages.test_report import clear_report


def test_lines_are_listed_worst_first_after_the_halls(capsys: pytest.CaptureFixture[str]) -> None:
    tell_clearness(clear_report())
    out = capsys.readouterr().out
    rows = [" ".join(line.split()) for line in out.splitlines() if line.strip()]
    assert "a full hall 3 LU 0.74 0.66 1" in rows
    shown = [row for row in rows if row[:1].isdigit()]
    assert shown == [
        "5:25 0.66 21.4 One minute left.",
        "11:04 0.74 21.4 Write your splits down.",
        "1:20 0.81 21.4 Next: twenty, two fourteen.",
    ]
    assert rows[-1] == CAUTION


def test_without_figures_that_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    tell_clearness(good_report())
    assert "no line was found" in capsys.readouterr().out


def test_a_line_that_is_hard_to_hear_is_told_with_the_verdict(
    capsys: pytest.CaptureFixture[str],
) -> None:
    tell_verdict(clear_report())
    out = capsys.readouterr().out
    assert "cue left.1.60 at 5:25: 'One minute left.' would be hard to hear" in out
    assert out.splitlines()[-1].startswith("OK: ")
