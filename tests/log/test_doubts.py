"""Doubts: for each rule a case that raises it and one just beside it that does not.

Watts are those of 2:05, 179.20 W exactly by P = 2.80 / (split / 500)^3 (common
practice, no source); metres follow from time and split.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from cuegen.log import Log, LogEntry
from cuegen.log.doubts import DOUBTS, doubts_about, doubts_of
from cuegen.log.readings import made_by_parts
from cuegen.plan.model import SegmentKind
from tests.log.samples import DAY, entry


def rules(one: LogEntry, *there: LogEntry, names: tuple[str, ...] = ("Maren Holt",)) -> list[str]:
    return [doubt.rule for doubt in doubts_of([one], there, names, DAY)]


CASES: list[tuple[str, dict[str, Any], dict[str, Any]]] = [
    ("split", {"split_ms": 58_000}, {"split_ms": 70_000}),
    ("split", {"split_ms": 300_001}, {"split_ms": 300_000}),
    ("part", {"parts_ms": (69_900, 69_900)}, {"parts_ms": (70_000, 70_000)}),
    ("part", {"parts_ms": (300_000, 300_100)}, {"parts_ms": (300_000, 300_000)}),
    ("inner-jump", {"parts_ms": (110_000, 130_000)}, {"parts_ms": (110_100, 130_000)}),
    ("inner-jump", {"parts_ms": (130_000, 110_000)}, {"parts_ms": (130_000, 110_001)}),
    # against parts of 2:05.0 and 2:05.0
    ("parts", {"split_ms": 125_501}, {"split_ms": 125_500}),
    ("parts", {"split_ms": 124_499}, {"split_ms": 124_500}),
    ("rate", {"rate": 90}, {"rate": 50}),
    ("rate", {"rate": 11}, {"rate": 12}),
    ("watts", {"split_ms": 125_000, "watts": 198.0}, {"split_ms": 125_000, "watts": 197.0}),
    ("watts", {"split_ms": 125_000, "watts": 161.0}, {"split_ms": 125_000, "watts": 162.0}),
    (
        "metres",  # 960 m in 4:00 at 2:05
        {"split_ms": 125_000, "duration_ms": 240_000, "metres": 970.0},
        {"split_ms": 125_000, "duration_ms": 240_000, "metres": 969.0},
    ),
    ("future", {"day": DAY + timedelta(1)}, {"day": DAY}),
    ("heart-rate", {"heart_rate": 39}, {"heart_rate": 40}),
    ("heart-rate", {"heart_rate": 221}, {"heart_rate": 220}),
]


def of(rule: str, fields: dict[str, Any]) -> LogEntry:
    """An entry whose split and parts go together, unless that is what the rule is about."""
    if rule == "parts":
        return entry(**fields, parts_ms=(125_000, 125_000))
    one = entry(**fields)
    made_ms = made_by_parts(one)
    return one if made_ms is None else replace(one, split_ms=min(max(made_ms, 70_000), 300_000))


@pytest.mark.parametrize(("rule", "odd", "plain"), CASES)
def test_a_rule_and_its_limit(rule: str, odd: dict[str, Any], plain: dict[str, Any]) -> None:
    assert rules(of(rule, odd)) == [rule]
    assert rules(of(rule, plain)) == []


def test_every_rule_has_a_case() -> None:
    others = {"jump", "new-name", "twice"}
    assert {rule for rule, _, _ in CASES} | others == set(DOUBTS)


# ------------------------------------------------------------------ jumps

WEEK = timedelta(7)


@pytest.mark.parametrize("split_ms", [125_500 - 20_000, 125_500 + 20_000])
def test_a_jump_of_20_s_is_asked_about(split_ms: int) -> None:
    assert rules(entry(split_ms=split_ms), entry(day=DAY - WEEK)) == ["jump"]


@pytest.mark.parametrize("split_ms", [125_500 - 19_999, 125_500 + 19_999])
def test_a_smaller_one_is_not(split_ms: int) -> None:
    assert rules(entry(split_ms=split_ms), entry(day=DAY - WEEK)) == []


@pytest.mark.parametrize(
    ("other", "asked"),
    [
        (entry(rate=21, day=DAY - WEEK), True),
        (entry(rate=22, day=DAY - WEEK), False),
        (entry("Idris Vale", day=DAY - WEEK), False),
        (entry(kind=SegmentKind.WARM_UP, day=DAY - WEEK), False),
        (entry(day=DAY + WEEK), False),
    ],
    ids=["a rate beside", "another rate", "another rower", "a warm-up", "a later day"],
)
def test_only_what_was_held_at_about_that_rate_before_counts(other: LogEntry, asked: bool) -> None:
    assert rules(entry(split_ms=146_000), other) == (["jump"] if asked else [])


def test_the_last_time_counts_not_the_times_before() -> None:
    before = [entry(day=DAY - 2 * WEEK), entry(day=DAY - WEEK, split_ms=140_000)]
    assert rules(entry(split_ms=146_000), *before) == []
    assert rules(entry(split_ms=146_000), *reversed(before)) == []


def test_on_one_day_the_same_rate_goes_before_one_beside_it() -> None:
    before = [entry(rate=21, day=DAY - WEEK), entry(day=DAY - WEEK, split_ms=140_000)]
    assert rules(entry(split_ms=146_000), *before) == []


def test_what_was_typed_before_in_one_go_counts_too() -> None:
    typed = [entry(segment=1), entry(segment=2, split_ms=150_000)]
    found = doubts_of(typed, (), ("Maren Holt",), DAY)
    assert [(doubt.rule, doubt.index) for doubt in found] == [("jump", 1)]
    assert (
        found[0].what == "2:30.0 at rate 20 is 24.5 s slower than 2:05.5 at rate 20 on 2031-05-24"
    )


# ------------------------------------------------------------------ parts


def test_what_is_odd_about_parts_is_said_of_the_part() -> None:
    typed = entry(split_ms=84_000, parts_ms=(58_000, 150_000))
    found = doubts_of([typed], (), ("Maren Holt",), DAY)
    assert [doubt.what for doubt in found] == [
        "part 1, 0:58.0, is faster than 1:10.0",
        "part 2, 2:30.0, is 92.0 s slower than the part before it",
    ]


def test_parts_equal_in_metres_are_held_against_the_mean_of_their_times() -> None:
    """D: 1:55 and 2:13 make 2:04.0 in metres; in time 2 / (1/115 + 1/133) = 123.3 s."""
    parts = (115_000, 133_000)
    in_metres = entry(split_ms=124_500, metres=1000.0, parts_ms=parts)
    assert rules(in_metres) == []
    (doubt,) = doubts_of(
        [replace(in_metres, duration_ms=240_000, metres=None)], (), ("Maren Holt",), DAY
    )
    assert doubt.what == "its parts make 2:03.3, not 2:04.5"
    both = replace(in_metres, duration_ms=241_000, metres=968.0)
    assert rules(both) == ["parts"], "of a piece in time the metres may be known as well"


# ------------------------------------------------------------------ names


@pytest.mark.parametrize(
    ("name", "asked"),
    [
        ("Maren Hot", True),
        ("Maren", True),
        ("Maren van Holt", True),
        ("maren  HOLT", False),
        ("Idris Vale", False),
    ],
)
def test_a_new_name_much_like_a_known_one_is_asked_about(name: str, asked: bool) -> None:
    assert rules(entry(name)) == (["new-name"] if asked else [])


def test_the_first_rower_of_all_is_new_without_a_word() -> None:
    assert rules(entry("Maren Hot"), names=()) == []


# ------------------------------------------------------------------ twice

SLOT: dict[str, Any] = {"session": "Thursday", "segment": 2}


@pytest.mark.parametrize(
    ("one", "other", "asked"),
    [
        ({}, {}, True),
        ({}, {"note": "calm"}, True),
        ({}, {"split_ms": 125_600}, False),
        ({}, {"day": DAY - WEEK}, False),
        (SLOT, SLOT | {"split_ms": 130_000}, True),
        (SLOT, {"session": "THURSDAY", "segment": 2}, True),
        (SLOT, {"session": "Thursday", "segment": 3}, False),
        (SLOT, {"session": "Friday", "segment": 2}, False),
    ],
)
def test_one_segment_is_rowed_once(one: dict[str, Any], other: dict[str, Any], asked: bool) -> None:
    assert rules(entry(**one), entry(**other)) == (["twice"] if asked else [])


def test_twice_in_one_go_is_said_of_the_second() -> None:
    found = doubts_of([entry(), entry()], (), (), DAY)
    assert [(doubt.rule, doubt.index) for doubt in found] == [("twice", 1)]
    assert "stands here twice" in found[0].what


# ------------------------------------------------------------- in the log


def test_a_log_is_asked_with_its_numbers(log: Log) -> None:
    log.add([entry(**SLOT), entry("Idris Vale", split_ms=100_000)])
    (doubt,) = doubts_about(log, [entry(**SLOT)], DAY)
    assert doubt.what == (
        "segment 2 of that session is in the log already, number 1 (2:05.5 at rate 20)"
    )


def test_what_an_entry_replaces_is_not_beside_it(log: Log) -> None:
    log.add([entry(**SLOT)])
    assert doubts_about(log, [entry(**SLOT, note="calm")], DAY, instead_of=1) == []


def test_nothing_is_odd_about_nothing(log: Log) -> None:
    assert doubts_about(log, [], date(2031, 1, 1)) == []
