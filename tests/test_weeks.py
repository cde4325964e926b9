"""Week after week of one block: fresh words each time, and the same sheet for the same memory.

The plans are examples, with their week changed, compiled in a folder of their own and
remembered one after the other as `cuegen track` does. Lines are as long as the fake voice's.
"""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations
from pathlib import Path

import pytest

from cuegen.errors import MemoryFileError, OutputError
from cuegen.heard import remember_sheet
from cuegen.plan.reading import load_plan
from cuegen.schedule.cuesheet import CueSheet
from cuegen.script.candidates import build_candidates
from cuegen.script.memory import SESSIONS_APART, heard_before, memory_of
from cuegen.script.phrasebook import find_book
from cuegen.script.picker import same_words
from cuegen.steps import compile_sheet
from cuegen.targets.resolve import outline
from cuegen.targets.results import load_results
from tests.voice.fake import FakeSpeaker

EXAMPLES = Path("examples")
PLANS = ("harbour-build", "tern-solo")
WEEKS = 8
MOST_UNSAID = 3
"""Cues of an eighth week that may be without words: "at most few"."""

SMALL = """\
title: Short row
audience: group
session: |
  warm-up 2:00 r18
  row 2:00 r20
"""


@dataclass(frozen=True, slots=True)
class Block:
    """A folder with the plans of some weeks, their sheets, and the memory before each."""

    folder: Path
    plans: tuple[Path, ...]
    sheets: tuple[CueSheet, ...]
    memories: tuple[str, ...]

    @property
    def memory_file(self) -> Path:
        (file,) = self.folder.glob("*.heard.json")
        return file

    def words(self, week: int) -> set[str]:
        return {same_words(cue.text) for cue in self.sheets[week - 1].cues if not cue.firm}


@pytest.fixture(scope="module", params=PLANS)
def block(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Block:
    """Compile and remember eight weeks of an example."""
    folder = tmp_path_factory.mktemp(request.param)
    shutil.copy(EXAMPLES / "results.csv", folder)
    plans: list[Path] = []
    sheets: list[CueSheet] = []
    memories: list[str] = []
    text = Path(EXAMPLES, f"{request.param}.yaml").read_text(encoding="utf-8")
    for week in range(1, WEEKS + 1):
        plan = folder / f"week-{week}.yaml"
        of_week, changed = re.subn(r"week: \d+", f"week: {week}", text)
        assert changed == 1
        plan.write_text(of_week, encoding="utf-8")
        memories.append("".join(file.read_text("utf-8") for file in folder.glob("*.heard.json")))
        sheet = compiled(plan)
        assert remember_sheet(sheet, folder) is not None
        plans.append(plan)
        sheets.append(sheet)
    return Block(folder, tuple(plans), tuple(sheets), tuple(memories))


def compiled(plan: Path) -> CueSheet:
    return compile_sheet(plan, results=plan.parent / "results.csv", speaker=FakeSpeaker())


@pytest.mark.slow
class TestABlock:
    def test_no_two_of_four_successive_weeks_share_a_wording(self, block: Block) -> None:
        for first in range(1, WEEKS - 2):
            for one, other in combinations(range(first, first + SESSIONS_APART), 2):
                assert block.words(one) & block.words(other) == set(), (one, other)

    def test_no_week_says_the_same_twice(self, block: Block) -> None:
        for week, sheet in enumerate(block.sheets, start=1):
            floating = [cue for cue in sheet.cues if not cue.firm]
            assert len(block.words(week)) == len(floating) > 80, week

    def test_an_early_week_made_again_after_all_others_is_the_same_sheet(
        self, block: Block
    ) -> None:
        for week in (1, 2, 4):
            assert compiled(block.plans[week - 1]) == block.sheets[week - 1], week

    def test_remembering_a_week_again_changes_nothing_in_the_file(self, block: Block) -> None:
        before = block.memory_file.read_bytes()
        remember_sheet(block.sheets[1], block.folder)
        assert block.memory_file.read_bytes() == before

    def test_the_memory_holds_every_week_in_order(self, block: Block) -> None:
        memory = memory_of(block.memory_file.read_text(encoding="utf-8"), "memory")
        assert [session.week for session in memory.sessions] == list(range(1, WEEKS + 1))
        assert [set(session.words) for session in memory.sessions] == [
            block.words(week) for week in range(1, WEEKS + 1)
        ]

    def test_an_eighth_week_still_finds_words_for_all_but_a_few_cues(self, block: Block) -> None:
        assert unsaid_in(block, WEEKS) <= MOST_UNSAID

    def test_words_come_again_once_they_may(self, block: Block) -> None:
        """The book is not so large that the memory would have nothing to do."""
        assert block.words(1) & block.words(1 + SESSIONS_APART)


def unsaid_in(block: Block, week: int) -> int:
    """Return how many cues of a week found no fresh words in the book."""
    session = load_plan(block.plans[week - 1])
    laid = outline(session, load_results(block.folder / "results.csv"))
    memory = memory_of(block.memories[week - 1], "memory")
    heard = heard_before(memory, week, session.title, laid.rower)
    return build_candidates(laid, find_book(session.phrase_book, session.language), heard).unsaid


@pytest.fixture
def short(tmp_path: Path) -> Callable[..., CueSheet]:
    """Give a function that compiles a short session, of a block where its name is given."""

    def compile_short(block: str = "", week: int = 1) -> CueSheet:
        line = f"block: {{name: {block!r}, week: {week}}}\n" if block else ""
        plan = tmp_path / "plan.yaml"
        plan.write_text(SMALL + line, encoding="utf-8")
        return compile_sheet(plan, speaker=FakeSpeaker())

    return compile_short


Short = Callable[..., CueSheet]
MEMORY = "autumn-base.heard.json"


class TestTheFile:
    def test_it_lies_beside_the_plan_under_the_name_of_the_block(
        self, short: Short, tmp_path: Path
    ) -> None:
        assert remember_sheet(short("Autumn base"), tmp_path) == tmp_path / MEMORY
        assert sorted(file.name for file in tmp_path.iterdir()) == [MEMORY, "plan.yaml"]

    def test_compiling_alone_notes_nothing(self, short: Short, tmp_path: Path) -> None:
        short("Autumn base")
        assert [file.name for file in tmp_path.iterdir()] == ["plan.yaml"]

    def test_a_plan_without_a_block_notes_nothing(self, short: Short, tmp_path: Path) -> None:
        assert remember_sheet(short(), tmp_path) is None
        assert [file.name for file in tmp_path.iterdir()] == ["plan.yaml"]

    def test_firm_cues_are_not_remembered(self, short: Short, tmp_path: Path) -> None:
        sheet = short("Autumn base")
        remember_sheet(sheet, tmp_path)
        memory = memory_of((tmp_path / MEMORY).read_text(encoding="utf-8"), MEMORY)
        floating = [same_words(cue.text) for cue in sheet.cues if not cue.firm]
        assert list(memory.sessions[0].words) == floating
        assert any(cue.firm for cue in sheet.cues)

    def test_the_file_beside_the_plan_is_read(self, short: Short, tmp_path: Path) -> None:
        first = short("Autumn base")
        remember_sheet(first, tmp_path)
        said = {same_words(cue.text) for cue in first.cues if not cue.firm}
        again = short("Autumn base", 5)  # in week 5 the order of lines is that of week 1
        unheard = {same_words(cue.text) for cue in again.cues if not cue.firm}
        (tmp_path / MEMORY).unlink()
        forgetful = short("Autumn base", 5)
        assert said & unheard == set()
        assert said & {same_words(cue.text) for cue in forgetful.cues if not cue.firm}

    def test_a_damaged_file_is_an_error_when_a_sheet_is_made(
        self, short: Short, tmp_path: Path
    ) -> None:
        (tmp_path / MEMORY).write_text("{", encoding="utf-8")
        with pytest.raises(MemoryFileError, match=f"{MEMORY}: this is no memory of a block"):
            short("Autumn base")

    def test_a_damaged_file_is_not_written_over(self, short: Short, tmp_path: Path) -> None:
        sheet = short("Autumn base")
        (tmp_path / MEMORY).write_text("{", encoding="utf-8")
        with pytest.raises(MemoryFileError, match="Delete it"):
            remember_sheet(sheet, tmp_path)
        assert (tmp_path / MEMORY).read_text(encoding="utf-8") == "{"

    def test_a_file_that_is_not_text_is_an_error(self, short: Short, tmp_path: Path) -> None:
        (tmp_path / MEMORY).write_bytes(b"\xff\xfe")
        with pytest.raises(MemoryFileError, match="memory of a block is not UTF-8 text"):
            short("Autumn base")

    @pytest.mark.parametrize("old", [True, False], ids=["over an old one", "the first"])
    def test_a_disk_that_runs_full_leaves_no_half_file(
        self, short: Short, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, old: bool
    ) -> None:
        if old:
            remember_sheet(short("Autumn base"), tmp_path)
        sheet = short("Autumn base", 2)
        before = {file.name: file.read_bytes() for file in tmp_path.iterdir()}
        write_whole = Path.write_text

        def write_half(path: Path, text: str, **options: str) -> int:
            write_whole(path, text[: len(text) // 2], **options)
            raise OSError(28, "No space left on device")

        monkeypatch.setattr(Path, "write_text", write_half)
        with pytest.raises(OutputError, match="No space left on device"):
            remember_sheet(sheet, tmp_path)
        assert {file.name: file.read_bytes() for file in tmp_path.iterdir()} == before

    def test_a_long_block_name_is_remembered_too(self, short: Short, tmp_path: Path) -> None:
        assert remember_sheet(short("Base " * 80), tmp_path) is not None
