"""A faulty book is read on: all its faults at their lines, and what is good of it is kept."""

from __future__ import annotations

from pathlib import Path

import pytest

from cuegen.errors import PhraseError
from cuegen.script.kinds import CUE_KINDS, CueKind
from cuegen.script.lint_reading import MOST_FAULTS, subject_of
from cuegen.script.lint_subject import Subject
from cuegen.script.phrasebook import book_path, house_books


def tiny() -> str:
    """Return a book with one line for every kind: quicker to load than one of ours."""
    lines = "".join(
        f"  {kind}:\n    - {kind}\n"
        for kind, spec in CUE_KINDS.items()
        if spec.written and kind not in (CueKind.BEAT, CueKind.TECHNIQUE)
    )
    beats = "  beat:\n    - Go.\n"
    return f"lines:\n{lines}{beats}  technique:\n    - {{theme: catch, lines: [Light.]}}\n"


def write(folder: Path, name: str, text: str) -> str:
    path = folder / name
    path.parent.mkdir(exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return str(path)


def read(folder: Path, text: str) -> Subject:
    write(folder, "tiny", tiny())
    return subject_of(write(folder, "ours.yaml", text))


def faults(subject: Subject) -> list[tuple[int | None, str]]:
    return [(fault.where.line, fault.problem) for fault in subject.faults]


def texts(subject: Subject) -> list[str]:
    return [one.texts[0] for one in subject.own]


class TestFaults:
    def test_an_unknown_kind_is_one_fault_and_the_next_kind_is_read(self, tmp_path: Path) -> None:
        subject = read(
            tmp_path,
            "extends: ./tiny\nlines:\n  setle:\n    - Swing.\n    - Row.\n  offer:\n    - More.\n",
        )
        assert faults(subject) == [(3, "there is no cue kind 'setle'")]
        assert subject.faults[0].remedy == "Did you mean 'settle'?"
        assert texts(subject) == ["More."]
        assert subject.whole is None

    def test_every_misspelt_field_of_a_block_is_found(self, tmp_path: Path) -> None:
        subject = read(
            tmp_path,
            "extends: ./tiny\nlines:\n  settle:\n    - when: work\n      lines: |\n"
            "        Row at {{ rat | rate }} now. /\n"
            "        Row now.\n"
            "        Swing along.\n"
            "\n"
            "        Hold {{ efort | percent }}.\n",
        )
        assert faults(subject) == [
            (6, "a settle line has no field 'rat'"),
            (10, "a settle line has no field 'efort'"),
        ]
        assert texts(subject) == ["Swing along."]

    def test_every_faulty_line_of_a_list_is_found(self, tmp_path: Path) -> None:
        subject = read(
            tmp_path,
            "extends: ./tiny\nlines:\n  settle:\n    - lines: [Row 4., Swing., Push & go.]\n",
        )
        assert [problem[:3] for _, problem in faults(subject)] == ["'4'", "'&'"]
        assert texts(subject) == ["Swing."]

    def test_a_group_with_an_unknown_case_is_passed_over(self, tmp_path: Path) -> None:
        subject = read(
            tmp_path,
            "extends: ./tiny\nlines:\n  settle:\n    - {when: wrok, lines: [Row.]}\n    - Swing.\n",
        )
        assert faults(subject) == [(4, "settle has no 'when' of that name")]
        assert texts(subject) == ["Swing."]

    def test_a_missing_part_and_what_stands_in_the_others(self, tmp_path: Path) -> None:
        write(tmp_path, "mine/rests.yaml", "lines:\n  offer:\n    - More.\n    - Take 2 off.\n")
        subject = read(
            tmp_path, "extends: ./tiny\nparts:\n  - mine/gone.yaml\n  - mine/rests.yaml\n"
        )
        assert [line for line, _ in faults(subject)] == [3, 4]
        assert subject.faults[0].problem == "there is no file 'mine/gone.yaml' beside this book"
        assert subject.faults[1].where.file == str(tmp_path / "mine/rests.yaml")
        assert texts(subject) == ["More."]

    def test_a_part_that_is_no_yaml(self, tmp_path: Path) -> None:
        write(tmp_path, "rests.yaml", "lines: [\n")
        subject = read(tmp_path, "extends: ./tiny\nparts: [rests.yaml]\n")
        assert [fault.where.file for fault in subject.faults] == [str(tmp_path / "rests.yaml")]

    @pytest.mark.parametrize(
        ("text", "problem"),
        [
            ("extends: ./tiny\nlinse:\n  settle: [Row.]\n", "a phrase book has no 'linse'"),
            ("extends: ./tiny\nwithout: [Never said.]\n", "'tiny' does not say 'Never said.'"),
            ("lines:\n  settle: [Swing.]\n", "has no lines for beat"),
            ("extends: ./tiny\nlines: Row.\n", "'lines' should be names with values"),
            ("extends: ./tiny\nlines:\n  settle: Row.\n", "settle should be a list"),
            ("extends: ./tiny\nthemes:\n  feel: {summary: x}\n", "has no rates"),
        ],
    )
    def test_what_is_wrong_with_the_whole(self, tmp_path: Path, text: str, problem: str) -> None:
        (fault,) = read(tmp_path, text).faults
        assert problem in fault.problem

    def test_there_is_an_end_to_faults(self, tmp_path: Path) -> None:
        rows = "        Row 4.\n" * 300
        subject = read(tmp_path, f"extends: ./tiny\nlines:\n  settle:\n    - lines: |\n{rows}")
        assert len(subject.faults) == MOST_FAULTS


class TestUnreadable:
    def test_a_book_that_extends_itself(self, tmp_path: Path) -> None:
        with pytest.raises(PhraseError, match="extend one another in a circle"):
            read(tmp_path, "extends: ./ours.yaml\n")

    def test_two_books_that_extend_each_other(self, tmp_path: Path) -> None:
        write(tmp_path, "theirs.yaml", "extends: ./ours.yaml\n")
        with pytest.raises(PhraseError, match="extend one another in a circle"):
            read(tmp_path, "extends: ./theirs.yaml\n")

    def test_a_book_to_extend_that_is_not_there(self, tmp_path: Path) -> None:
        with pytest.raises(PhraseError, match="no phrase book 'plian'") as caught:
            read(tmp_path, "book: ours\nextends: plian\n")
        assert caught.value.where.line == 2
        assert "'plain'" in caught.value.remedy

    def test_a_file_that_is_not_there(self, tmp_path: Path) -> None:
        with pytest.raises(PhraseError, match="there is no such phrase book"):
            subject_of(str(tmp_path / "none.yaml"))

    def test_text_that_is_no_yaml(self, tmp_path: Path) -> None:
        with pytest.raises(PhraseError, match="bracket is not closed"):
            read(tmp_path, "lines: [\n")

    def test_words_alone(self, tmp_path: Path) -> None:
        with pytest.raises(PhraseError, match="should be names with values"):
            read(tmp_path, "just words\n")


class TestWhole:
    def test_only_its_own_lines_are_its_own(self, tmp_path: Path) -> None:
        write(tmp_path, "rests.yaml", "lines:\n  offer:\n    - Something more, if you like.\n")
        subject = read(
            tmp_path,
            "extends: ./tiny\nparts: [rests.yaml]\nlines:\n  settle:\n    - Swing on. / Swing.\n",
        )
        assert texts(subject) == ["Swing on.", "Swing.", "Something more, if you like."]
        assert len(subject.said) == 3 + len(subject_of(str(tmp_path / "tiny")).said)
        assert subject.whole is not None
        assert subject.faults == ()

    def test_all_lines_of_plain_are_its_own(self) -> None:
        subject = subject_of("plain")
        assert subject.own == subject.said


class TestPath:
    def test_a_bare_name_is_one_of_ours(self) -> None:
        assert book_path("plain") == house_books()["plain"].resolve()

    def test_a_path_is_taken_from_the_folder_given(self, tmp_path: Path) -> None:
        assert book_path("./mine", tmp_path) == (tmp_path / "mine").resolve()
        assert book_path("words/mine.yaml", tmp_path) == (tmp_path / "words/mine.yaml").resolve()
