"""Numbers are said as rowers say them, and what is said can be heard back.

Oracle for the round trips: the number-word grammar of tests/script/truth.py. How a
split is said ("two oh four point five"): common practice, no source.
"""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuegen.errors import PhraseError
from cuegen.plan.model import Rate
from cuegen.script.spoken import MetreValue, Precision, TimeValue, base_language, spoken_forms
from tests.script.truth import BAND, number, split_ms, step_ms, time_ms

EN = spoken_forms("en")


@pytest.mark.parametrize(
    ("ms", "said"),
    [
        (124_500, "two oh four point five"),
        (119_900, "one fifty-nine point nine"),
        (130_000, "two ten"),
        (120_000, "two minutes flat"),
        (119_960, "two minutes flat"),  # rounds to 2:00.0, never 1:60.0
        (119_949, "one fifty-nine point nine"),
        (125_000, "two oh five"),
        (125_040, "two oh five"),
        (120_300, "two oh oh point three"),
        (60_000, "one minute flat"),
        (112_000, "one fifty-two"),
        (601_000, "ten oh one"),
    ],
)
def test_a_split(ms: int, said: str) -> None:
    assert EN.split(ms) == said


def test_every_split_from_1_00_to_4_00_is_heard_back_by_tenths() -> None:
    tenths = range(60_000, 240_100, 100)
    assert [split_ms(EN.split(ms)) for ms in tenths] == list(tenths)


def test_no_two_splits_sound_alike() -> None:
    said = [EN.split(ms) for ms in range(60_000, 240_100, 100)]
    assert len(set(said)) == len(said)


@pytest.mark.parametrize(
    ("rate", "said"),
    [(Rate(22, 22), "twenty-two"), (Rate(18, 20), "eighteen to twenty"), (Rate(30, 30), "thirty")],
)
def test_a_rate(rate: Rate, said: str) -> None:
    assert EN.rate(rate) == said


@given(low=st.integers(10, 60), more=st.integers(0, 10))
def test_a_rate_is_heard_back(low: int, more: int) -> None:
    found = re.fullmatch(BAND, EN.rate(Rate(low, low + more)))
    assert found is not None
    assert number(found[1]) == low
    assert (number(found[2]) if found[2] else low) == low + more


@pytest.mark.parametrize(
    ("ms", "precision", "said"),
    [
        (120_000, Precision.EXACT, "two minutes"),
        (105_000, Precision.EXACT, "one minute forty-five"),
        (90_000, Precision.EXACT, "ninety seconds"),
        (30_000, Precision.EXACT, "thirty seconds"),
        (60_000, Precision.EXACT, "one minute"),
        (60_000, Precision.OVER, "just over a minute"),
        (120_000, Precision.OVER, "just over two minutes"),
        (30_000, Precision.UNDER, "just under thirty seconds"),
        (1_500_000, Precision.ABOUT, "about twenty-five minutes"),
        (3_600_000, Precision.EXACT, "one hour"),
        (4_500_000, Precision.EXACT, "one hour fifteen minutes"),
        (3_610_000, Precision.EXACT, "one hour ten seconds"),
        (1_000, Precision.EXACT, "one second"),
    ],
)
def test_a_time(ms: int, precision: Precision, said: str) -> None:
    assert EN.time(TimeValue(ms, precision)) == said


@given(
    seconds=st.integers(1, 12 * 3600),
    precision=st.sampled_from(Precision),
)
def test_a_time_is_heard_back_with_its_precision(seconds: int, precision: Precision) -> None:
    nearness = {"exact": "", "over": "just over", "under": "just under", "about": "about"}
    heard = time_ms(EN.time(TimeValue(seconds * 1000, precision)))
    assert heard == (nearness[precision], seconds * 1000)


@pytest.mark.parametrize(
    ("metres", "said"),
    [
        (750, "seven hundred and fifty metres"),
        (1_250, "one thousand two hundred and fifty metres"),
        (2_000, "two thousand metres"),
        (10_000, "ten thousand metres"),
    ],
)
def test_metres(metres: int, said: str) -> None:
    assert EN.metres(MetreValue(metres)) == said


@given(st.integers(0, 999_999))
def test_a_cardinal_is_heard_back(value: int) -> None:
    assert number(EN.count(value)) == value


@given(st.integers(1, 100_000))
def test_metres_watts_and_percent_are_heard_back(value: int) -> None:
    for said, unit in (
        (EN.metres(MetreValue(value)), "metre"),
        (EN.watts(value), "watt"),
        (EN.percent(value), "percent"),
    ):
        words, _, last = said.rpartition(" ")
        assert last.removesuffix("s") == unit
        assert number(words) == value


@pytest.mark.parametrize(
    ("ms", "said"),
    [
        (-3_000, "three seconds quicker"),
        (-1_000, "one second quicker"),
        (2_000, "two seconds slower"),
        (-2_500, "two and a half seconds quicker"),
        (-500, "half a second quicker"),
        (-2_800, "about three seconds quicker"),
        (3_200, "about three seconds slower"),
    ],
)
def test_a_step(ms: int, said: str) -> None:
    assert EN.step(ms) == said


@given(st.integers(500, 60_000), st.booleans())
def test_a_step_is_heard_back_to_half_a_second(size: int, quicker: bool) -> None:
    change = -size if quicker else size
    about, heard = step_ms(EN.step(change))
    assert abs(heard - change) <= (550 if about else 50)


def test_a_step_that_is_none_has_no_words() -> None:
    with pytest.raises(ValueError, match="half a second"):
        EN.step(-400)


@given(st.floats(1, 2_000))
def test_strokes_are_said_as_a_round_figure(strokes: float) -> None:
    said = EN.strokes(strokes)
    assert said.startswith("about ")
    assert abs(number(said.split(" ", 1)[1].rpartition(" ")[0]) - strokes) <= 2.5


def test_a_region_speaks_its_language() -> None:
    assert base_language("en-GB") == "en"
    assert spoken_forms("en-GB") is EN


def test_a_language_without_forms_says_how_to_add_them() -> None:
    with pytest.raises(PhraseError, match="no spoken numbers for the language 'cy'") as caught:
        spoken_forms("cy")
    assert "SPOKEN" in caught.value.remedy
