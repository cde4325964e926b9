"""Tests of cuegen.plan.block_reading: a block file, every slip with its line and a remedy."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest

from cuegen.errors import BlockError, CuegenError, PlanError
from cuegen.plan.block import BlockRower
from cuegen.plan.block_reading import is_block, load_block, read_block
from cuegen.plan.progress import Progress, Rule
from cuegen.plan.reading import load_plan
from tests.plan.blocks import BLOCK, PLANS, block_of

EXAMPLES = Path(__file__).parents[2] / "examples"


def test_a_block_is_read_whole() -> None:
    block = block_of()
    assert (block.name, block.start) == ("Weir spring", date(2031, 3, 3))
    assert block.rowers == (BlockRower("Edda Kolm"), BlockRower("Tore Vass", "Toor-uh Vass"))
    assert [week.progress for week in block.weeks] == [
        Progress(Rule.HOLD, 0),
        Progress(Rule.LOWER, 2),
        Progress(Rule.FASTER, 1.5),
        Progress(Rule.LONGER, 10),
        Progress(Rule.DELOAD, 60),
    ]
    assert [week.session.title for week in block.weeks] == [
        *["Lock steps"] * 3,
        "Long reach",
        "Lock steps",
    ]


@pytest.mark.parametrize(
    ("written", "amount"),
    [("lower", 2), ("lower 3", 3), ("Lower 2 strokes", 2), ("lower 1 stroke", 1)],
)
def test_a_rule_may_say_how_much(written: str, amount: float) -> None:
    block = block_of(BLOCK.replace("  - lower\n", f"  - {written}\n"))
    assert block.weeks[1].progress == Progress(Rule.LOWER, amount)


def test_a_week_may_bring_its_own_session() -> None:
    text = 'block: One\nstart: 2031-03-03\nweeks:\n  - changes: {session: "10:00 r20"}\n'
    assert len(block_of(text).weeks[0].session.segments) == 1


CASES = [
    ("block: Weir spring\n", "", None, "the block has no block", "Give it a name"),
    ("start: 2031-03-03\n", "", None, "the block has no start", "Name the first day"),
    ("2031-03-03", "3.3.2031", 2, "this is no day", "year-month-day"),
    ("2031-03-03", "2031-02-30", 2, "this is no day", "year-month-day"),
    ("plan: steps.yaml\n", "", 7, "this week has no session", "Name a plan"),
    ("  - hold\n", "  - holds\n", 8, "this is no rule of progress", "hold"),
    ("  - hold\n", "  - hold 2\n", 8, "'hold' has no amount", "Write `hold` alone"),
    ("  - lower\n", "  - lower 9\n", 9, "'lower' goes from 1 to 6 strokes", "`lower 2 strokes`"),
    ("  - lower\n", "  - lower 1.5\n", 9, "'lower' goes from 1 to 6 strokes", "`lower 2 strokes`"),
    ("  - lower\n", "  - lower 2 s\n", 9, "'lower' counts in strokes", "`lower 2 strokes`"),
    ("  - lower\n", "  - [lower]\n", 9, "a week is no list", "a line for each"),
    ("progress: faster", "progres: faster", 10, "a week has no such field", "progress"),
    ("talk_share", "talkshare", 10, "a week's changes has no such field", "talk_share"),
    ("talk_share: 25%", "talk_share: 250%", 10, "this share is out of range", "Write one"),
    ("talk_share: 25%", "rower: Edda", 10, "a week's changes has no such field", ""),
    ("  - Edda Kolm\n", "  - tore  vass\n", 6, "this rower is named twice", "Keep one"),
    ("rowers:", "rower:", 4, "a block has no such field", "rowers"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "line", "problem", "remedy"), CASES)
def test_a_slip_is_refused_at_its_line_with_a_remedy(
    old: str, new: str, line: int | None, problem: str, remedy: str
) -> None:
    assert old in BLOCK
    with pytest.raises(BlockError) as caught:
        block_of(BLOCK.replace(old, new, 1))
    assert problem in caught.value.problem
    assert remedy in caught.value.remedy
    assert (caught.value.where.file, caught.value.where.line) == ("spring.yaml", line)


def test_a_slip_in_a_week_s_notation_is_refused_at_its_line() -> None:
    text = BLOCK.replace("{talk_share: 25%,", '{session: "4:00 r20 @fast",')
    with pytest.raises(CuegenError, match="no place here") as caught:
        block_of(text)
    assert caught.value.where.line == 10


def test_weeks_are_a_list() -> None:
    with pytest.raises(BlockError, match="a list should stand here"):
        block_of(BLOCK[: BLOCK.index("weeks:")] + "weeks: 4\n")


def test_weeks_have_a_limit() -> None:
    text = BLOCK + "  - hold\n" * 52
    with pytest.raises(BlockError, match="a block has 1 to 52 weeks"):
        block_of(text)


def test_a_plan_is_no_block_and_a_block_no_plan() -> None:
    assert is_block(BLOCK)
    assert not any(is_block(text) for text in PLANS.values())


def test_the_block_in_the_readme_is_the_example() -> None:
    readme = (EXAMPLES.parent / "README.md").read_text(encoding="utf-8")
    (shown,) = re.findall(r"```yml\n(block:.*?)```", readme, re.S)
    example = load_block(EXAMPLES / "blocks" / "harbour-block.yaml")
    assert read_block(shown, lambda name: load_plan(EXAMPLES / name)) == example


def test_the_readme_has_every_rule_and_no_other() -> None:
    readme = (EXAMPLES.parent / "README.md").read_text(encoding="utf-8")
    section = readme.split("## Blocks of weeks")[1].split("\n## ")[0]
    assert re.findall(r"^\| `(\w+)` \|", section, re.M) == list(Rule)


class TestFiles:
    def test_plans_are_looked_for_beside_the_block(self, tmp_path: Path) -> None:
        folder = tmp_path / "far"
        folder.mkdir()
        for name, text in PLANS.items():
            (folder / name).write_text(text)
        (folder / "spring.yaml").write_text(BLOCK)
        block = load_block(folder / "spring.yaml")
        assert block.weeks[3].session.title == "Long reach"
        assert block.weeks[3].session.where.file == str(folder / "spring.yaml")

    def test_a_missing_plan_is_named(self, tmp_path: Path) -> None:
        (tmp_path / "spring.yaml").write_text(BLOCK)
        with pytest.raises(PlanError) as caught:
            load_block(tmp_path / "spring.yaml")
        assert caught.value.where.file == str(tmp_path / "steps.yaml")

    def test_a_week_s_own_book_lies_beside_the_block(self, tmp_path: Path) -> None:
        for name, text in PLANS.items():
            (tmp_path / name).write_text(text)
        text = BLOCK.replace("phrase_book: calm", "phrase_book: ours.yaml")
        (tmp_path / "spring.yaml").write_text(text)
        week = load_block(tmp_path / "spring.yaml").weeks[2]
        assert week.session.phrase_book == str(tmp_path / "ours.yaml")

    def test_the_example_can_be_read(self) -> None:
        block = load_block(EXAMPLES / "blocks" / "harbour-block.yaml")
        assert [str(week.progress) for week in block.weeks] == [
            "as planned",
            "same splits, 2 strokes lower",
            "same rates, 1 s faster",
            "deload, pieces 60 % as long, 3 s easier",
        ]
