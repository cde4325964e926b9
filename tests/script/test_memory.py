"""A block remembers what was heard: three sessions back, each rower alone, the same every time."""

from __future__ import annotations

import json
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuegen.errors import MemoryFileError
from cuegen.script.memory import (
    MEMORY_VERSION,
    HeardSession,
    Memory,
    file_name,
    heard_before,
    heard_session,
    memory_of,
    memory_text,
    remembered,
)

EMPTY = Memory(block="Autumn base")
FILE = "autumn-base.heard.json"


def heard(week: int, word: str, *, title: str = "Ladder", rower: str | None = None) -> HeardSession:
    return heard_session(week, title, rower, [word])


def memory(*sessions: HeardSession) -> Memory:
    """Return a memory to which sessions were added in that order."""
    made = EMPTY
    for session in sessions:
        made = remembered(made, session)
    return made


def words_before(
    made: Memory, week: int, *, title: str = "Ladder", rower: str | None = None
) -> set[str]:
    return set(heard_before(made, week, title, rower))


class TestWhatWasHeard:
    def test_a_first_session_has_heard_nothing(self) -> None:
        assert words_before(EMPTY, 1) == set()

    def test_three_sessions_back_and_not_four(self) -> None:
        made = memory(*(heard(week, word) for week, word in enumerate("abcd", start=1)))
        assert words_before(made, 4) == {"a", "b", "c"}
        assert words_before(made, 5) == {"b", "c", "d"}

    def test_weeks_without_a_session_do_not_count(self) -> None:
        made = memory(*(heard(week, word) for week, word in zip((1, 5, 9), "abc", strict=True)))
        assert words_before(made, 30) == {"a", "b", "c"}

    def test_later_weeks_have_not_been_heard_yet(self) -> None:
        assert words_before(memory(heard(1, "a"), heard(3, "c")), 2) == {"a"}

    def test_the_second_session_of_a_week_has_heard_the_first(self) -> None:
        made = memory(heard(1, "a"), heard(2, "b", title="Ladder"))
        assert words_before(made, 2, title="Pyramid") == {"a", "b"}

    def test_the_first_session_of_a_week_made_again_has_not_heard_the_second(self) -> None:
        made = memory(heard(1, "a"), heard(2, "b"), heard(2, "p", title="Pyramid"))
        assert words_before(made, 2, title="Ladder") == {"a"}

    def test_a_session_made_again_has_not_heard_itself(self) -> None:
        assert words_before(memory(heard(1, "a"), heard(2, "b")), 2) == {"a"}

    def test_two_rowers_do_not_hear_each_other(self) -> None:
        made = memory(heard(1, "a", rower="Maren Holt"), heard(1, "i", rower="Idris Vale"))
        assert words_before(made, 2, rower="Maren Holt") == {"a"}

    def test_a_rowers_own_track_and_the_groups_are_apart(self) -> None:
        made = memory(heard(1, "a", rower="Maren Holt"), heard(1, "g"))
        assert words_before(made, 2) == {"g"}
        assert words_before(made, 2, rower="Maren Holt") == {"a"}

    def test_other_rowers_sessions_do_not_push_ones_own_out(self) -> None:
        others = [heard(week, "o", rower="Idris Vale") for week in range(1, 6)]
        made = memory(heard(1, "a", rower="Maren Holt"), *others)
        assert words_before(made, 6, rower="Maren Holt") == {"a"}


class TestRemembering:
    def test_a_session_made_again_keeps_its_place_and_has_its_new_words(self) -> None:
        before = memory(heard(1, "a"), heard(2, "b"), heard(3, "c"))
        after = remembered(before, heard(2, "new"))
        assert [session.words for session in after.sessions] == [("a",), ("new",), ("c",)]

    def test_the_first_session_of_a_week_made_again_stays_the_first(self) -> None:
        before = memory(heard(1, "a"), heard(1, "p", title="Pyramid"))
        after = remembered(before, heard(1, "new"))
        assert [session.title for session in after.sessions] == ["Ladder", "Pyramid"]

    def test_a_session_of_an_earlier_week_goes_before_later_ones(self) -> None:
        made = memory(heard(1, "a"), heard(3, "c"), heard(2, "b"))
        assert [session.week for session in made.sessions] == [1, 2, 3]

    def test_remembering_twice_is_remembering_once(self) -> None:
        once = memory(heard(1, "a"), heard(2, "b"))
        assert remembered(once, heard(2, "b")) == once

    def test_words_are_kept_without_signs_and_capitals_each_once(self) -> None:
        texts = ["Long and loose.", "long, and loose!", "Sit tall; it's near."]
        session = heard_session(1, "Ladder", None, texts)
        assert session.words == ("long and loose", "sit tall it's near")

    def test_the_memory_given_is_left_as_it_was(self) -> None:
        before = memory(heard(1, "a"))
        remembered(before, heard(2, "b"))
        assert before == memory(heard(1, "a"))


_sessions = st.builds(
    HeardSession,
    week=st.integers(1, 6),
    title=st.sampled_from(["Ladder", "Pyramid"]),
    rower=st.sampled_from(["", "Maren Holt"]),
    words=st.lists(st.text("abcdefgh", min_size=1, max_size=2), max_size=3).map(tuple),
)


@given(st.lists(_sessions, max_size=15))
def test_each_session_has_heard_the_last_three_of_its_rower_made_for_earlier(
    made: list[HeardSession],
) -> None:
    """Told again from the order of making: a dict keeps the first place and the last words."""
    last = {session.key: session for session in made}
    order = sorted(last.values(), key=lambda session: session.week)
    for session in order:
        line = [each for each in order if each.rower == session.rower]
        place = line.index(session)
        wanted = {word for each in line[:place][-3:] for word in each.words}
        found = heard_before(memory(*made), session.week, session.title, session.rower or None)
        assert found == wanted


class TestTheFile:
    @given(st.lists(_sessions, max_size=6))
    def test_a_memory_comes_back_from_its_text(self, made: list[HeardSession]) -> None:
        before = memory(*made)
        assert memory_of(memory_text(before), FILE) == before

    def test_words_of_other_languages_stay_readable(self) -> None:
        made = memory(heard_session(1, "Übung", "Zoë", ["Ruhig, gleichmäßig."]))
        text = memory_text(made)
        assert "Zoë" in text
        assert memory_of(text, FILE) == made

    @pytest.mark.parametrize(
        ("name", "file"),
        [
            ("Autumn base", "autumn-base.heard.json"),
            ("  Autumn   base!  ", "autumn-base.heard.json"),
            ("Winter 2026/27", "winter-2026-27.heard.json"),
            ("..\\..\\up", "up.heard.json"),
            ("../../up", "up.heard.json"),
            ("under_score", "under-score.heard.json"),
            ("Größe", "grösse.heard.json"),
            ("秋の練習", "秋の練習.heard.json"),
            ("?!", "block.heard.json"),
            ("", "block.heard.json"),
        ],
    )
    def test_it_is_named_by_the_letters_and_numbers_of_its_block(
        self, name: str, file: str
    ) -> None:
        assert file_name(name) == file

    @given(st.text())
    def test_no_name_leads_out_of_the_folder_or_hides_the_file(self, name: str) -> None:
        assert re.fullmatch(r"[\w-]+\.heard\.json", file_name(name))
        assert not file_name(name).startswith(("-", "_"))

    def test_a_long_name_is_cut_to_what_a_file_system_takes(self) -> None:
        assert len(file_name("base " * 100).encode()) <= 200


class TestDamage:
    def read(self, **changes: object) -> Memory:
        """Read a good memory of one session with some of its fields changed."""
        good = json.loads(memory_text(memory(heard(1, "a"))))
        return memory_of(json.dumps(good | changes), FILE)

    @pytest.mark.parametrize(
        "text", ["", "{", memory_text(memory(heard(1, "a")))[:-20], "no JSON at all"]
    )
    def test_what_is_not_whole_is_an_error_with_file_and_remedy(self, text: str) -> None:
        with pytest.raises(MemoryFileError, match="this is no memory of a block") as caught:
            memory_of(text, FILE)
        assert caught.value.where.file == FILE
        assert caught.value.remedy == "Delete it to begin the block's memory anew."

    @pytest.mark.parametrize(
        ("changes", "problem"),
        [
            ({"block": 7}, r"block: Input should be a valid string"),
            ({"sessions": 7}, r"sessions: Input should be a valid (tuple|array)"),
            ({"sessions": [{"week": 0, "title": "x"}]}, r"sessions\.0\.week: .*greater than or"),
            ({"sessions": [{"week": 1}]}, r"sessions\.0\.title: Field required"),
            ({"voice": "natural"}, r"voice: Extra inputs are not permitted"),
            ({"version": "one"}, r"version: Input should be a valid integer"),
        ],
        ids=lambda each: next(iter(each)) if isinstance(each, dict) else "",
    )
    def test_a_wrong_field_is_named(self, changes: dict[str, object], problem: str) -> None:
        with pytest.raises(MemoryFileError, match=f"no memory of a block: {problem}"):
            self.read(**changes)

    def test_a_newer_version_is_an_error_that_says_so(self) -> None:
        newer = MEMORY_VERSION + 1
        with pytest.raises(MemoryFileError, match=f"this memory is of version {newer}") as caught:
            self.read(version=newer)
        assert caught.value.where.file == FILE
        assert caught.value.remedy.startswith("Update cuegen")

    def test_a_newer_version_with_fields_of_its_own_says_so_too(self) -> None:
        with pytest.raises(MemoryFileError, match="made by a newer cuegen"):
            self.read(version=MEMORY_VERSION + 1, tempo="calm")


def test_the_memory_of_another_block_is_not_taken_for_ones_own() -> None:
    text = memory_text(Memory(block="Base, one"))
    assert memory_of(text, FILE, "Base, one").block == "Base, one"
    with pytest.raises(MemoryFileError, match="of the block 'Base, one', not of 'Base one'"):
        memory_of(text, FILE, "Base one")
