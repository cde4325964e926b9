"""Every line of the books that come with cuegen is heard, understood and true.

Each phrase is said in small worlds whose values are known (tests/script/worlds.py), and
then with each of its values falsified, one at a time: a phrase whose falsehood goes
unnoticed would be one that the ear does not listen to. Then whole sessions are heard.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache, lru_cache

import pytest

from cuegen.schedule.cuesheet import Cue
from cuegen.script.book import BookLine, Occasion, PhraseBook
from cuegen.script.candidates import build_candidates
from cuegen.script.kinds import CUE_KINDS, CueKind
from cuegen.script.phrase import Phrase
from cuegen.script.phrasebook import find_book
from tests.script.every_case import every_case
from tests.script.outlines import all_readings, placed_sheet
from tests.script.truth import false_statements
from tests.script.worlds import OTHERWISE, World, mutated, worlds

BOOKS = ("plain", "calm", "brisk")
SESSIONS = every_case()

book = lru_cache(find_book)


def _own(name: str) -> list[BookLine]:
    """Return the lines that a book brings itself; those of the book it extends are that one's."""
    base = set() if name == "plain" else {line.key for line in book("plain").lines}
    return [line for line in book(name).lines if line.key not in base]


@cache
def _said(line: BookLine, phrase: Phrase) -> dict[str, World]:
    """Return each different thing that a phrase says in the worlds, with a world it is true in."""
    different: dict[tuple[object, ...], World] = {}
    for world in worlds(line):
        if phrase.fields <= world.fields.keys():
            different.setdefault(tuple(world.fields[name] for name in phrase.fields), world)
    found: dict[str, World] = {}
    for world in different.values():
        if text := phrase.say(world.fields):
            found.setdefault(text, world)
    return found


@pytest.mark.slow
@pytest.mark.parametrize("name", BOOKS, scope="module")  # what a book says is worked out once
class TestEveryLine:
    def test_has_something_to_say(self, name: str) -> None:
        phrases = [(line, phrase) for line in _own(name) for phrase in line.phrases]
        assert [str(phrase.where) for line, phrase in phrases if not _said(line, phrase)] == []

    def test_is_understood_and_true(self, name: str) -> None:
        faults = [
            f"{line.where}: {fault}"
            for line in _own(name)
            for phrase in line.phrases
            for text, world in _said(line, phrase).items()
            for fault in false_statements(world.hearing(line, text), silence=False)
        ]
        assert faults == []

    def test_is_false_with_any_of_its_values_false(self, name: str) -> None:
        unheard = [
            f"{line.where}: {field} in {text!r}"
            for line in _own(name)
            for phrase in line.phrases
            for field, text, world in _falsified(line, phrase)
            if not false_statements(world.hearing(line, text), silence=False)
        ]
        assert unheard == []


def _falsified(line: BookLine, phrase: Phrase) -> Iterator[tuple[str, str, World]]:
    """Yield what a phrase says with one value changed, where that changes its words."""
    for text, world in list(_said(line, phrase).items())[:1]:
        for name in sorted(phrase.fields & {*OTHERWISE, "metres"}):
            false = phrase.say(world.fields | mutated(line, name))
            if false and false != text:
                yield name, false, world


@pytest.mark.parametrize("name", BOOKS, scope="module")
class TestQuiet:
    """What is announced as quiet is broken by any cue, as calls alone by any but a firm one."""

    def test_an_announcement_is_false_before_the_span_is_over(self, name: str) -> None:
        for line, text, world in _announced(name):
            coach = _later(world, 15_000, firm=False)
            assert false_statements(world.hearing(line, text, coach)) != [], text

    def test_a_call_breaks_the_quiet_unless_the_words_allow_for_it(self, name: str) -> None:
        misheard = []
        for line, text, world in _announced(name):
            call = _later(world, 15_000, firm=True)
            broken = false_statements(world.hearing(line, text, call)) != []
            if broken != (line.when == "whole"):
                misheard.append(f"{line.where}: {text}")
        assert misheard == []

    def test_the_voice_may_come_back_when_it_is_over(self, name: str) -> None:
        for line, text, world in _announced(name):
            coach = _later(world, 31_500, firm=False)
            assert false_statements(world.hearing(line, text, coach)) == [], text


def _announced(name: str) -> Iterator[tuple[BookLine, str, World]]:
    for line in _own(name):
        if line.kind is CueKind.QUIET:
            for phrase in line.phrases:
                for text, world in _said(line, phrase).items():
                    yield line, text, world


def _later(world: World, after_ms: int, *, firm: bool) -> Cue:
    at_ms = world.at_ms + after_ms
    return Cue(
        id="next", kind=CueKind.OWN, firm=firm, at_ms=at_ms, start_ms=at_ms - 10,
        end_ms=at_ms + 500, text="Well rowed.", segment=0,
    )  # fmt: skip


class _Listening(PhraseBook):
    """A book that remembers what it was asked for."""

    asked: set[tuple[CueKind, str | None]] = set()  # noqa: RUF012

    def suiting(self, occasion: Occasion) -> list[BookLine]:
        self.asked.add((occasion.kind, occasion.case))
        return super().suiting(occasion)


def test_the_sessions_reach_every_case_of_every_kind() -> None:
    plain = book("plain")
    listening = _Listening(plain.name, plain.language, plain.lines, plain.themes)
    for outline in SESSIONS.values():
        build_candidates(outline, listening)
    wanted = {
        (kind, case)
        for kind, spec in CUE_KINDS.items()
        if spec.written
        for case in spec.cases or (None,)
    }
    assert wanted - listening.asked == set()


@pytest.mark.slow
@pytest.mark.parametrize("name", BOOKS)
@pytest.mark.parametrize("session", SESSIONS)
def test_a_session_is_true_wherever_its_lines_may_stand_and_where_they_do(
    name: str, session: str
) -> None:
    outline = SESSIONS[session]
    script = build_candidates(outline, book(name))
    assert false_statements(all_readings(outline, script), silence=False) == []
    assert false_statements(placed_sheet(outline, script)) == []
