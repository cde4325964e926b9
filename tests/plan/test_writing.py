"""A plan is written in one plain form, and rewritten without disturbing what did not change."""

from __future__ import annotations

from dataclasses import replace

import pytest

from cuegen.errors import PlanError
from cuegen.plan.model import Bed, Block, QuietSpan, SayLine, Session
from cuegen.plan.notation import parse_notation
from cuegen.plan.reading import read_plan
from cuegen.plan.writing import rewrite_plan, write_plan

PLAN = """\
# Thursday plan
title: "Ladder"  # on the board

audience: solo
session: |   # notation
  warm-up 6:00 r18   # easy

  # the work
  4 x 4:00 r17/19/21/23   # hardest last
  cool-down 4min

# how much the voice speaks
talk_share: 35%
bed: {file: river.mp3, below: 24}   # music
say:
  # mine
  - at: 10:00
    text: Hello   # greeting
  - {segment: 3, text: "Half: way"}
# the end
"""


def edited(**changes: object) -> str:
    """PLAN rewritten with some of its session's attributes changed."""
    return rewrite_plan(PLAN, replace(read_plan(PLAN), **changes))  # type: ignore[arg-type]


def with_entries(notation: str) -> str:
    return edited(entries=parse_notation(notation))


def test_a_new_plan_has_title_audience_entries_and_what_differs_from_the_defaults() -> None:
    session = Session(
        "Ladder: low",
        parse_notation("warm-up 6:00 r18\n4x4min r18/20/22/24"),
        rower="Maren Holt",
        rower_say="Mahren",
        lead_in_ms=45_500,
        caution=False,
        bed=Bed("river.mp3", 24.0),
        block=Block("Autumn", 3),
        say=(SayLine("Go on.", at_ms=600_000), SayLine("Now.", segment=2, offset_ms=-20_000)),
        quiet=(QuietSpan(60_000, 90_250),),
    )
    assert write_plan(session) == (
        "title: 'Ladder: low'\n"
        "audience: group\n"
        "rower:\n  name: Maren Holt\n  say: Mahren\n"
        "session: |\n  warm-up 6:00 r18\n  4 x 4:00 r18/20/22/24\n"
        'lead_in: "0:45.5"\n'
        "caution: off\n"
        "bed:\n  file: river.mp3\n  below: 24\n"
        "block:\n  name: Autumn\n  week: 3\n"
        'say:\n  - at: "10:00"\n    text: Go on.\n'
        '  - segment: 2\n    before: "0:20"\n    text: Now.\n'
        "quiet:\n  - 1:00-1:30.25\n"
    )


def test_nothing_changes_where_nothing_differs() -> None:
    assert edited() == PLAN


def test_one_value_changes_and_its_comment_stays() -> None:
    assert edited(title="Stairs") == PLAN.replace('title: "Ladder"', "title: Stairs")


def test_a_default_is_written_where_the_plan_had_another_value() -> None:
    assert edited(audience=read_plan("session: 4:00").audience) == PLAN.replace(
        "audience: solo", "audience: group"
    )


def test_a_field_that_is_gone_leaves_no_line() -> None:
    line = "bed: {file: river.mp3, below: 24}   # music\n"
    assert edited(bed=None) == PLAN.replace(line, "")


def test_a_new_field_stands_after_the_last_one() -> None:
    assert edited(loudness=-18.0, block=Block("Autumn", 3)) == PLAN.replace(
        '  - {segment: 3, text: "Half: way"}\n',
        '  - {segment: 3, text: "Half: way"}\nloudness: -18\nblock:\n  name: Autumn\n  week: 3\n',
    )


def test_comments_inside_a_list_that_is_written_again_move_above_it() -> None:
    old = PLAN[PLAN.index("say:") : PLAN.index("# the end")]
    new = '# mine\n# greeting\nsay:\n  - at: "10:00"\n    text: Hi\n'
    assert edited(say=(SayLine("Hi", at_ms=600_000),)) == PLAN.replace(old, new)


def test_one_entry_changes_and_the_rest_of_the_board_stays() -> None:
    assert with_entries("warm-up 6:00 r18\n5 x 4:00 r20\ncool-down 4:00") == PLAN.replace(
        "  4 x 4:00 r17/19/21/23   # hardest last", "  5 x 4:00 r20  # hardest last"
    )


def test_an_entry_is_added_between_others() -> None:
    text = with_entries("warm-up 6:00 r18\n4 x 4:00 r17/19/21/23\npaddle 2:00\ncool-down 4:00")
    assert text == PLAN.replace("  cool-down 4min", "  paddle 2:00\n  cool-down 4min")


def test_an_entry_is_added_before_the_first_and_after_the_last() -> None:
    text = with_entries(
        "paddle 1:00\nwarm-up 6:00 r18\n4 x 4:00 r17/19/21/23\ncool-down 4:00\nrest 1:00"
    )
    assert text == PLAN.replace(
        "  warm-up 6:00 r18   #", "  paddle 1:00\n  warm-up 6:00 r18   #"
    ).replace("  cool-down 4min\n", "  cool-down 4min\n  rest 1:00\n")


def test_an_entry_that_is_gone_leaves_no_line() -> None:
    assert with_entries("4 x 4:00 r17/19/21/23\ncool-down 4:00") == PLAN.replace(
        "  warm-up 6:00 r18   # easy\n", ""
    )


def test_a_change_that_leaves_an_own_line_unheard_is_refused() -> None:
    with pytest.raises(PlanError, match="lies after the last stroke"):
        with_entries("warm-up 6:00 r18\ncool-down 2:00\nrest 0:30\n")


def test_a_session_that_is_no_literal_block_becomes_one() -> None:
    session = Session("Rowing session", parse_notation("5:00\n6:00"))
    assert rewrite_plan("session: 4:00  # short\n", session) == (
        "# short\nsession: |\n  5:00\n  6:00\n"
    )


def test_document_marks_stay_at_both_ends() -> None:
    text = "---\nsession: 4:00\n...\n"
    session = replace(read_plan(text), title="New")
    assert rewrite_plan(text, session) == "---\nsession: 4:00\ntitle: New\n...\n"


def test_a_plan_in_one_flow_mapping_is_written_anew_when_it_differs() -> None:
    text = "{title: a, session: 4:00}\n"
    assert rewrite_plan(text, read_plan(text)) == text
    assert rewrite_plan(text, replace(read_plan(text), title="b")) == (
        "title: b\naudience: group\nsession: |\n  4:00\n"
    )


def test_what_is_no_plan_is_not_rewritten() -> None:
    with pytest.raises(PlanError, match="a plan has no such field"):
        rewrite_plan("sesion: 4:00\n", read_plan("session: 4:00"))
