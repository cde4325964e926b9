"""Ready-made sessions are proper sessions for every parameter in its range."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cuegen.errors import PlanError
from cuegen.plan.model import SegmentKind, Session
from cuegen.plan.notation_text import write_notation
from cuegen.plan.parameters import Parameter, Unit
from cuegen.plan.reading import read_plan
from cuegen.plan.shapes import SHAPES, ShapeSpec, build_shape
from cuegen.plan.writing import write_plan

DEFAULTS = {
    "steps": "4 x 4:00 r18/20/22/24 70/75/80/85% (recovery/ratio/connection/legs)",
    "ladder": (
        "5 x 5:00/4:00/3:00/2:00/1:00 r18/20/22/24/26 70/74/79/84/88% "
        "(recovery/ratio/connection/legs/compression), paddle 1:00"
    ),
    "pyramid": (
        "3 x 0:30 r22/24/26 70/75/80%, paddle 0:30\npaddle 1:00\n"
        "7 x 1:00/2:00/3:00/4:00/3:00/2:00/1:00 r26/24/22/20/22/24/26 88/84/79/75/79/84/88% "
        "(compression/sequence/connection/posture/catch/sequence/finish), paddle 1:00"
    ),
    "intervals": (
        "3 x 0:30 r22/24/26 70/75/80%, paddle 0:30\npaddle 1:00\n8 x 1:00 r26 88% (legs), rest 1:00"
    ),
    "distance": "4 x 750m r24 82% (connection), paddle 1:30",
    "steady": "4 x 6:00 r18-20 65% (recovery/ratio/length/posture)",
}


def work(session: Session) -> str:
    """The notation between warm-up and cool-down."""
    return write_notation(session.entries[1:-1]).rstrip("\n")


def test_the_shapes_are_those_a_coach_expects() -> None:
    assert list(SHAPES) == list(DEFAULTS)


@pytest.mark.parametrize("name", SHAPES)
def test_a_shape_without_parameters(name: str) -> None:
    session = build_shape(name)
    assert work(session) == DEFAULTS[name]
    assert write_notation(session.entries[:1]) == "warm-up 6:00 r18\n"
    assert write_notation(session.entries[-1:]) == "cool-down 4:00 r18\n"
    assert session.title == SHAPES[name].title


@pytest.mark.parametrize(
    ("name", "parameters", "expected"),
    [
        (
            "steps",
            {"count": 3, "work": "5:00", "rate": 17, "step": 3, "split": "2:14.5", "gain": 2},
            "3 x 5:00 r17/20/23 @2:14.5/-2/-2 70/78/85% (recovery/ratio/connection)",
        ),
        (
            "ladder",
            {"rungs": 2, "longest": 90_000, "shortest": "0:30", "split": 120_000, "paddle": "2:00"},
            "2 x 1:30/0:30 r18/20 @2:00/-3 70/88% (recovery/ratio), paddle 2:00",
        ),
        (
            "pyramid",
            {"rungs": 2, "top": "3:00", "rate": 22},
            "3 x 0:30 r20/22/24 70/75/80%, paddle 0:30\npaddle 1:00\n"
            "3 x 1:30/3:00/1:30 r24/22/24 88/75/88% (catch/sequence/connection), paddle 1:00",
        ),
        (
            "intervals",
            {
                "count": 4,
                "work": "2:00",
                "rest": "1:30",
                "rate": 28,
                "effort": "92%",
                "split": None,
            },
            "3 x 0:30 r24/26/28 70/77/84%, paddle 0:30\npaddle 1:00\n"
            "4 x 2:00 r28 92% (legs), rest 1:30",
        ),
        (
            "distance",
            {"count": 2, "metres": "1000m", "split": "1:58", "rate": "22", "paddle": "3:00"},
            "2 x 1000m r22 @1:58 82% (connection), paddle 3:00",
        ),
        ("steady", {"parts": 1, "low": 18, "high": 18}, "24:00 r18 65% (recovery)"),
    ],
)
def test_a_shape_with_parameters(
    name: str, parameters: dict[str, int | str | None], expected: str
) -> None:
    assert work(build_shape(name, **parameters)) == expected


def test_warm_up_and_cool_down_take_their_lengths() -> None:
    session = build_shape("steady", warm_up="10:00", cool_down=300_000)
    assert write_notation(session.entries).splitlines()[::2] == [
        "warm-up 10:00 r18",
        "cool-down 5:00 r18",
    ]


def built(name: str, parameters: dict[str, int]) -> Session | PlanError:
    """A shape, or the error that says why there is none."""
    try:
        return build_shape(name, **parameters)
    except PlanError as bad:
        return bad


@st.composite
def shapes(draw: st.DrawFn) -> tuple[ShapeSpec, dict[str, int]]:
    spec = draw(st.sampled_from(list(SHAPES.values())))
    return spec, {
        parameter.name: draw(_value(parameter))
        for parameter in spec.parameters
        if draw(st.booleans())
    }


def _value(parameter: Parameter) -> st.SearchStrategy[int]:
    if parameter.unit is Unit.TIME:
        return st.integers(parameter.low // 1000, parameter.high // 1000).map(lambda s: s * 1000)
    return st.integers(parameter.low, parameter.high)


@settings(max_examples=100, deadline=None)
@given(shapes())
def test_every_shape_is_a_plan_or_says_which_parameters_do_not_go_together(
    shape: tuple[ShapeSpec, dict[str, int]],
) -> None:
    spec, parameters = shape
    session = built(spec.name, parameters)
    if isinstance(session, PlanError):
        at_odds = ("the rate would rise", "the shortest rung", "the band of rates")
        assert session.problem.startswith(at_odds)
        return
    assert read_plan(write_plan(session)) == session
    assert session.entries[0].kind is SegmentKind.WARM_UP
    assert session.entries[-1].kind is SegmentKind.COOL_DOWN
    rates = [segment.rate for segment in session.segments if segment.rate]
    assert all(14 <= rate.low <= rate.high <= 40 for rate in rates)


@pytest.mark.parametrize(
    ("name", "parameters", "problem", "text", "remedy"),
    [
        ("stps", {}, "no such ready-made session", "stps", "Did you mean 'steps'"),
        ("steps", {"rat": 18}, "steps has no such parameter", "rat", "Did you mean 'rate'"),
        ("steps", {"count": 9}, "count is out of range", "9", "Give 2 to 8"),
        ("steps", {"work": "0:59"}, "work is out of range", "0:59", "Give 1:00 to 15:00"),
        ("steps", {"work": "4m"}, "work cannot be read", "4m", "Write it like 4:00"),
        ("steps", {"work": 60_500}, "work is out of range", "1:01", "Give 1:00 to 15:00"),
        ("steps", {"split": "0:30"}, "split is out of range", "0:30", "Give 1:20 to 4:00"),
        ("steps", {"rate": "r18"}, "rate cannot be read", "r18", "Write it like 18"),
        ("distance", {"metres": "5km"}, "metres cannot be read", "5km", "Write it like 750m"),
        ("intervals", {"effort": "101%"}, "effort is out of range", "101%", "Give 40% to 100%"),
        (
            "steps",
            {"rate": 36, "count": 4},
            "the rate would rise to 42",
            "36/38/40/42",
            "fewer or smaller steps",
        ),
        (
            "ladder",
            {"longest": "1:00", "shortest": "2:00"},
            "shortest rung is longer",
            "2:00",
            "at most 1:00",
        ),
        ("steady", {"low": 22, "high": 20}, "band of rates runs downwards", "22-20", "low at most"),
    ],
)
def test_a_parameter_that_cannot_be_is_refused(
    name: str, parameters: dict[str, int | str | None], problem: str, text: str, remedy: str
) -> None:
    with pytest.raises(PlanError, match=problem) as caught:
        build_shape(name, **parameters)
    assert caught.value.where.text == text
    assert remedy in caught.value.remedy


@pytest.mark.parametrize("spec", SHAPES.values(), ids=lambda spec: spec.name)
def test_every_parameter_has_help_and_a_default_within_its_range(spec: ShapeSpec) -> None:
    assert spec.summary
    for parameter in spec.parameters:
        assert parameter.help
        if parameter.default is not None:
            assert parameter.read(parameter.text(parameter.default)) == parameter.default
