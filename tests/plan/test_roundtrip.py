"""Writing a session and reading it gives the same session, over every field and form."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TypeVar

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cuegen.errors import CuegenError, PlanError
from cuegen.plan.model import Entry, Session
from cuegen.plan.notation import parse_notation
from cuegen.plan.notation_text import write_notation
from cuegen.plan.reading import read_plan
from cuegen.plan.writing import rewrite_plan, write_plan
from tests.plan.strategies import entry_lists, notation_lines, sessions

T = TypeVar("T")


@settings(max_examples=60, deadline=None)
@given(entry_lists())
def test_written_notation_reads_back_as_the_same_entries(entries: tuple[Entry, ...]) -> None:
    assert parse_notation(write_notation(entries)) == entries


@pytest.mark.slow
@settings(max_examples=60, deadline=None)
@given(sessions())
def test_a_written_plan_reads_back_as_the_same_session(session: Session) -> None:
    assert read_plan(write_plan(session)) == session


@pytest.mark.slow
@settings(max_examples=30, deadline=None)
@given(sessions(), sessions())
def test_any_plan_can_be_rewritten_as_any_other(before: Session, after: Session) -> None:
    assert read_plan(rewrite_plan(write_plan(before), after)) == after


@pytest.mark.slow
@settings(max_examples=25, deadline=None)
@given(sessions())
def test_rewriting_a_plan_as_itself_changes_no_character(session: Session) -> None:
    text = write_plan(session)
    assert rewrite_plan(text, session) == text


def outcome(read: Callable[[str], T], text: str) -> T | PlanError:
    """What a reader makes of a text; any other exception fails the test."""
    try:
        return read(text)
    except PlanError as bad:
        return bad


@settings(max_examples=300, deadline=None)
@given(notation_lines())
def test_any_text_is_entries_or_one_clear_error(text: str) -> None:
    found = outcome(parse_notation, text)
    if isinstance(found, PlanError):
        assert found.problem
        assert found.remedy
        assert found.where.line is not None
    else:
        assert parse_notation(write_notation(found)) == found


YAML_PIECES = (
    "title: x\n", "session: |\n", "  4:00\n", "say: ", "- ", "[", "{", "'", '"', "&a ", "*a",
    "!!x ", "\t", "quiet: 1:00-2:00\n", "? ", ": ", "---\n", "...\n", "%YAML 1.1\n", "|", ">\n",
    "rower: {name: A}\n", "\r", "\x85", "\u2028", "\x00", "# c\n", "<<: ", "session: 5:00\n",
)  # fmt: skip


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=60) | st.lists(st.sampled_from(YAML_PIECES), max_size=10).map("".join))
def test_any_file_is_a_session_or_one_clear_error(text: str) -> None:
    found = outcome(read_plan, text)
    if isinstance(found, PlanError):
        assert found.problem
        assert found.remedy
    else:
        assert read_plan(write_plan(found)) == found


def odd(**changes: object) -> Session:
    base = Session(title="x", entries=parse_notation("4:00"))
    return replace(base, **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("session", "field"),
    [
        (odd(title="two\nlines"), "title"),
        (odd(title="two  spaces"), "title"),
        (odd(entries=parse_notation("4:00 (catch)")[:1], rower=" A"), "rower"),
        (odd(rower_say="only the sound"), "rower"),
    ],
)
def test_what_no_plan_can_say_is_refused(session: Session, field: str) -> None:
    with pytest.raises(PlanError, match=f"a plan cannot say this session's {field}"):
        write_plan(session)


@pytest.mark.parametrize("changes", [{"entries": ()}, {"talk_share": 0.9}, {"title": ""}])
def test_a_session_beyond_the_limits_is_refused(changes: dict[str, object]) -> None:
    with pytest.raises(CuegenError):
        write_plan(odd(**changes))
