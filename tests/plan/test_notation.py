"""Every form of the whiteboard notation gives exactly the entry that it says."""

from __future__ import annotations

import pytest

from cuegen.plan.model import (
    Break,
    Distance,
    Duration,
    Entry,
    FreeTarget,
    LastAtOffset,
    LastAtRate,
    Length,
    Rate,
    SegmentKind,
    Session,
    SplitTarget,
    StepTarget,
    Target,
    WattsTarget,
)
from cuegen.plan.notation import parse_notation
from cuegen.plan.notation_text import write_notation

MIN = 60_000


def one(text: str) -> Entry:
    """The only entry of a text."""
    (entry,) = parse_notation(text)
    return entry


def single(*rates: int) -> tuple[Rate, ...]:
    return tuple(Rate(rate, rate) for rate in rates)


def test_the_notation_of_a_whole_session_gives_each_of_its_entries() -> None:
    entries = parse_notation(
        "warm-up 6:00 r18\n"
        "4 x 4:00 r17/19/21/23 @2:14/-3/-3/-3 (recovery/posture/catch/legs)\n"
        "paddle 2:00\n"
        "3 x 750m r24 @2:00, paddle 1:30\n"
        "cool-down 4:00\n"
    )
    assert entries == (
        Entry(SegmentKind.WARM_UP, 1, (Duration(6 * MIN),), single(18)),
        Entry(
            SegmentKind.ROW,
            4,
            (Duration(4 * MIN),),
            single(17, 19, 21, 23),
            (SplitTarget(134_000), StepTarget(-3_000), StepTarget(-3_000), StepTarget(-3_000)),
            themes=("recovery", "posture", "catch", "legs"),
            kind_written=False,
        ),
        Entry(SegmentKind.PADDLE, 1, (Duration(2 * MIN),)),
        Entry(
            SegmentKind.ROW,
            3,
            (Distance(750),),
            single(24),
            (SplitTarget(120_000),),
            rest=Break(SegmentKind.PADDLE, Duration(90_000)),
            kind_written=False,
        ),
        Entry(SegmentKind.COOL_DOWN, 1, (Duration(4 * MIN),)),
    )


@pytest.mark.parametrize(
    ("text", "lengths"),
    [
        ("4:00", (Duration(4 * MIN),)),
        ("0:20", (Duration(20_000),)),
        ("75:00", (Duration(75 * MIN),)),
        ("1:10:05", (Duration(70 * MIN + 5_000),)),
        ("4min", (Duration(4 * MIN),)),
        ("4.5 minutes", (Duration(4 * MIN + 30_000),)),
        ("750m", (Distance(750),)),
        ("100m", (Distance(100),)),
        ("2000 metres", (Distance(2_000),)),
        (
            "4 x 1:00/2:00/2:00/1:00",
            (Duration(MIN), Duration(2 * MIN), Duration(2 * MIN), Duration(MIN)),
        ),
        ("2 x 500m/1:30", (Distance(500), Duration(90_000))),
    ],
)
def test_each_form_of_a_length(text: str, lengths: tuple[Length, ...]) -> None:
    assert one(text).lengths == lengths


@pytest.mark.parametrize(
    ("text", "rates"),
    [
        ("r20", single(20)),
        ("r18-20", (Rate(18, 20),)),
        ("r17/19", single(17, 19)),
        ("r17/r19", single(17, 19)),
        ("r18-20/20-22", (Rate(18, 20), Rate(20, 22))),
        ("r 18 \N{EN DASH} 20", (Rate(18, 20),)),
        ("R20", single(20)),
    ],
)
def test_each_form_of_a_rate(text: str, rates: tuple[Rate, ...]) -> None:
    assert one(f"2 x 4:00 {text}").rates == rates


@pytest.mark.parametrize(
    ("text", "targets"),
    [
        ("@2:05", (SplitTarget(125_000),)),
        ("@2:05.5", (SplitTarget(125_500),)),
        ("@1:59.96", (SplitTarget(119_960),)),
        ("@210W", (WattsTarget(210),)),
        ("@ 210 w", (WattsTarget(210),)),
        ("@-3", (StepTarget(-3_000),)),
        ("@+2", (StepTarget(2_000),)),
        ("@-1.5", (StepTarget(-1_500),)),
        ("@\N{MINUS SIGN}3", (StepTarget(-3_000),)),
        ("@last r18", (LastAtRate(18),)),
        ("@last r18/r20", (LastAtRate(18), LastAtRate(20))),
        ("@last r18/20", (LastAtRate(18), LastAtRate(20))),
        ("@last r18/last r20", (LastAtRate(18), LastAtRate(20))),
        ("@last", (LastAtOffset(0),)),
        ("@last+2", (LastAtOffset(2),)),
        ("@last - 2", (LastAtOffset(-2),)),
        ("@last-1s", (LastAtOffset(0, -1_000),)),
        ("@last + 1.5 s", (LastAtOffset(0, 1_500),)),
        ("@last+2-1s", (LastAtOffset(2, -1_000),)),
        ("@last r18-0.5s", (LastAtRate(18, -500),)),
        ("@last r18/r20-1s", (LastAtRate(18), LastAtRate(20, -1_000))),
        ("@free", (FreeTarget(),)),
        ("@Free", (FreeTarget(),)),
        ("@last/210W", (LastAtOffset(0), WattsTarget(210))),
        ("@last r18/-3", (LastAtRate(18), StepTarget(-3_000))),
    ],
)
def test_each_form_of_a_target(text: str, targets: tuple[Target, ...]) -> None:
    entries = parse_notation(f"4:00 @2:10\n2 x 4:00 {text}")
    assert entries[1].targets == targets


def test_a_list_of_targets_may_mix_every_form() -> None:
    assert one("4 x 4:00 @2:14/-3/free/last+2").targets == (
        SplitTarget(134_000),
        StepTarget(-3_000),
        FreeTarget(),
        LastAtOffset(2),
    )


def test_a_rate_after_last_belongs_to_the_target_and_one_before_it_to_the_entry() -> None:
    assert one("4:00 @last r18").rates == ()
    assert one("4:00 r20 @last").targets == (LastAtOffset(0),)
    assert one("4:00 @last r18 r20") == one("4:00 r20 @last r18")


@pytest.mark.parametrize(
    ("text", "efforts"),
    [
        ("70%", (70,)),
        ("70 %", (70,)),
        ("70%/75%", (70, 75)),
        ("70/75%", (70, 75)),
        ("100%", (100,)),
    ],
)
def test_each_form_of_an_effort(text: str, efforts: tuple[int, ...]) -> None:
    assert one(f"2 x 4:00 {text}").efforts == efforts


@pytest.mark.parametrize(
    ("text", "themes"),
    [
        ("(catch)", ("catch",)),
        ("( catch / legs )", ("catch", "legs")),
        ("(hands  away)", ("hands away",)),
        ("(rückholen)", ("rückholen",)),
    ],
)
def test_each_form_of_a_theme(text: str, themes: tuple[str, ...]) -> None:
    assert one(f"2 x 4:00 {text}").themes == themes


@pytest.mark.parametrize(
    ("text", "pause"),
    [
        (", paddle 1:30", Break(SegmentKind.PADDLE, Duration(90_000))),
        (",rest 2min", Break(SegmentKind.REST, Duration(2 * MIN))),
        (" , Paddle 250m", Break(SegmentKind.PADDLE, Distance(250))),
    ],
)
def test_each_form_of_a_break(text: str, pause: Break) -> None:
    assert one(f"3 x 4:00{text}").rest == pause


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("warm-up", SegmentKind.WARM_UP),
        ("warm up", SegmentKind.WARM_UP),
        ("Warmup", SegmentKind.WARM_UP),
        ("row", SegmentKind.ROW),
        ("paddle", SegmentKind.PADDLE),
        ("rest", SegmentKind.REST),
        ("COOL-DOWN", SegmentKind.COOL_DOWN),
        ("cool  down", SegmentKind.COOL_DOWN),
    ],
)
def test_each_label(text: str, kind: SegmentKind) -> None:
    entry = one(f"{text} 4:00")
    assert (entry.kind, entry.kind_written) == (kind, True)


def test_no_label_means_row_and_is_not_written_again() -> None:
    assert one("4:00").kind is SegmentKind.ROW
    assert write_notation([one("4:00")]) == "4:00\n"
    assert write_notation([one("row 4:00")]) == "row 4:00\n"


@pytest.mark.parametrize("text", ["4x4:00", "4 x4:00", "4\N{MULTIPLICATION SIGN}4:00", "4 X 4:00"])
def test_spacing_and_the_sign_of_repeats_do_not_matter(text: str) -> None:
    assert one(text) == one("4 x 4:00")


def test_the_parts_may_stand_in_any_order() -> None:
    assert one("2 x 4:00 (catch) 70% @2:05 r20") == one("2 x 4:00 r20 @2:05 70% (catch)")


def test_comments_blank_lines_and_line_ends_are_passed_over() -> None:
    text = "# plan\n\n  4:00 r20 # easy (catch) @\n\t\n#\n2:00\r\n"
    assert parse_notation(text) == parse_notation("4:00 r20\n2:00")


def test_each_entry_knows_where_it_stands_in_the_file() -> None:
    text = "warm-up 6:00\n\n  4 x 4:00 r20  # work\n"
    where = parse_notation(text, file="plan.yaml", first_line=7, first_column=3)[1].where
    assert (where.file, where.line, where.column, where.text) == (
        "plan.yaml",
        9,
        5,
        "4 x 4:00 r20",
    )


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("row 4min R18-18", "row 4:00 r18\n"),
        ("90:00 @2:05.500", "1:30:00 @2:05.5\n"),
        ("2x4:00 70%/75% @last r18/last r20", "2 x 4:00 @last r18/r20 70/75%\n"),
        ("2x4:00 @last r18/last", "2 x 4:00 @last r18/last\n"),
        ("4:00 @1:59.965", "4:00 @1:59.965\n"),
        ("4:00 @2:00.0\n4:00 @-0.50", "4:00 @2:00\n4:00 @-0.5\n"),
        ("4:00 @2:00\n4:00 @+0\n4:00 @+10", "4:00 @2:00\n4:00 @+0\n4:00 @+10\n"),
        ("1 x 750 m (a)70%, rest 1min", "750m 70% (a), rest 1:00\n"),
    ],
)
def test_notation_is_written_in_one_plain_form(text: str, written: str) -> None:
    assert write_notation(parse_notation(text)) == written


def test_a_break_falls_between_repeats_and_not_after_the_last() -> None:
    session = Session("x", parse_notation("3 x 750m r24, paddle 1:30\n4:00"))
    assert [segment.kind.value for segment in session.segments] == [
        "row",
        "paddle",
        "row",
        "paddle",
        "row",
        "row",
    ]


def test_the_largest_session_that_is_allowed() -> None:
    assert one("12:00:00").lengths == (Duration(12 * 60 * MIN),)
    assert len(parse_notation("200 x 0:30\n" * 5)) == 5
