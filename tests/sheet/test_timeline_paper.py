"""Page one: figures that can be read from the machine, words that fit beside them.

Check values: a figure h mm high is seen at 1.5 m under 3438 h / 1500 minutes of
arc (small angles; 1 radian is 3438 minutes). 16 minutes, 7.0 mm, are the least
for reading, 20, 8.7 mm, are comfortable (ISO 9241-303, from memory).
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuegen.plan.model import SegmentKind
from cuegen.sheet.timeline_paper import (
    PAGE_HEIGHT_MM,
    PAGE_WIDTH_MM,
    SAY_SIZES_MM,
    Columns,
    Paper,
    Weight,
    columns,
    paper,
    weight_of,
)
from tests.sheet.samples import segments

WORK, EASY, BREAK = Weight.WORK, Weight.EASY, Weight.BREAK
USUAL = columns(["12:30"], ["20"], ["2:04.5"])


def page(*weights: Weight, widths: Columns = USUAL, words: str = "Row 1 of 3 Go.") -> Paper:
    return paper("Thursday ladder", [(weight, [words]) for weight in weights], widths)


def arc_minutes(height_mm: float) -> float:
    return 3438 * height_mm / 1500


@pytest.mark.parametrize("pieces", [4, 8, 12, 13])
def test_up_to_thirteen_pieces_are_comfortable_from_a_metre_and_a_half(pieces: int) -> None:
    assert arc_minutes(page(*[WORK] * pieces).digit_height(WORK)) >= 20


def test_up_to_seventeen_pieces_and_twenty_two_with_breaks_can_be_read_from_there() -> None:
    assert arc_minutes(page(*[WORK] * 17).digit_height(WORK)) >= 16
    assert arc_minutes(page(*[WORK, BREAK] * 11).digit_height(WORK)) >= 16


@pytest.mark.parametrize("pieces", [18, 25])
def test_more_pieces_are_smaller_but_never_small_print(pieces: int) -> None:
    height = page(*[WORK] * pieces).digit_height(WORK)
    assert 4.8 <= height < 7.0


@given(
    st.lists(st.sampled_from(Weight), min_size=1, max_size=25),
    st.text(max_size=200),
    st.sampled_from((USUAL, columns(["~1:02:30"], ["26-28"], ["2:04.5"]))),
)
def test_rows_and_columns_fit_the_page(weights: list[Weight], title: str, widths: Columns) -> None:
    made = paper(title, [(weight, ["Row 1 of 3 Go."]) for weight in weights], widths)
    assert sum(made.row(weight) for weight in (*weights, BREAK)) < PAGE_HEIGHT_MM - 20
    assert 60 <= made.words < PAGE_WIDTH_MM
    assert made.big > 0
    assert made.figure(WORK) <= made.row(WORK)


def test_words_are_set_smaller_until_what_is_said_at_the_starts_fits() -> None:
    short, long = page(*[WORK] * 10), page(*[WORK] * 10, words="Find two oh two, and stay. " * 5)
    assert short.say == SAY_SIZES_MM[0] > long.say >= SAY_SIZES_MM[-1]
    assert long.lines_of("Find two oh two, and stay. " * 5) <= long.lines(WORK)


def test_every_paragraph_of_a_row_counts() -> None:
    words = "Find two oh two, and stay."
    few = paper("Ladder", [(WORK, [words])] * 10, USUAL)
    many = paper("Ladder", [(WORK, [words] * 4)] * 10, USUAL)
    assert few.say > many.say


def test_more_than_comfortable_figures_give_way_to_words_but_no_further() -> None:
    """150 letters would be small beside the biggest figures, 165 beside comfortable ones too."""
    words = "Find two oh two, and stay with it. " * 5
    alone, beside, long = (page(*[WORK] * 8, words=words[:n]) for n in (60, 150, 165))
    assert (beside.big, beside.say) == (12.8, 3.8)
    assert arc_minutes(beside.digit_height(WORK)) >= 20
    assert long.big == alone.big > beside.big
    assert long.say < 3.8


def test_a_row_that_needs_more_takes_it_from_the_others() -> None:
    rows: list[tuple[Weight, list[str]]] = [(WORK, ["Row 1 of 3 Go."])] * 7
    words = "Find two oh two, and stay with it. " * 5
    made = paper("Ladder", [*rows, (WORK, [words])], USUAL)
    assert made.fits
    assert made.lines_of(words) > made.lines(WORK)


def test_words_that_fit_in_no_size_are_set_in_the_least() -> None:
    made = page(*[WORK] * 25, words="word " * 200)
    assert (made.say, made.fits) == (SAY_SIZES_MM[-1], False)


def test_columns_are_as_wide_as_their_widest_text_in_digits() -> None:
    made = columns(["0:00", "12:30"], ["20", "26-28"], ["2:04.5", "75 %"])
    # 4 digits and 0.6 for the colon at nine tenths; 5 at 0.86 and the blade; 4 + 0.6 + 0.5.
    assert (made.clock, made.rate, made.hold) == pytest.approx((4.14, 5.0, 5.1))


def test_work_weighs_most_and_breaks_least() -> None:
    kinds = {
        kind: weight_of(segments()[0].model_copy(update={"kind": kind})) for kind in SegmentKind
    }
    assert kinds == {
        SegmentKind.WARM_UP: EASY,
        SegmentKind.ROW: WORK,
        SegmentKind.PADDLE: BREAK,
        SegmentKind.REST: BREAK,
        SegmentKind.COOL_DOWN: EASY,
    }
