"""Which results are those of a session."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from cuegen.errors import LogError
from cuegen.log import LogEntry
from cuegen.log.rowed_session import other_title, rowed_segment, rowed_session
from cuegen.plan.model import SegmentKind
from cuegen.targets.review import RowedSegment
from tests.log.samples import DAY, FULL, entry

TITLE = "Thursday by the slip"
WEEK = timedelta(7)


def of(session: str | None, day: date = DAY, segment: int = 2, **more: Any) -> LogEntry:
    return entry(session=session, day=day, segment=segment, **more)


def test_the_newest_day_of_that_title_counts() -> None:
    last = [of(TITLE, segment=2), of("THURSDAY  by the Slip", segment=3)]
    others = [of(TITLE, DAY - WEEK), of("Tuesday", DAY + WEEK), of(None, DAY + WEEK)]
    assert rowed_session([*others, *last], TITLE) == tuple(last)


def test_a_day_that_is_named_goes_before_a_newer_one() -> None:
    first = of(TITLE, DAY - WEEK)
    found = rowed_session([first, of(TITLE), of("Tuesday", DAY - WEEK)], TITLE, DAY - WEEK)
    assert found == (first,)


@pytest.mark.parametrize("session", ["Tuesday", None])
def test_the_only_session_of_a_named_day_counts_whatever_its_title(session: str | None) -> None:
    there = [of(session, segment=2), of(session, segment=3)]
    assert rowed_session([*there, of(TITLE, DAY - WEEK)], TITLE, DAY) == tuple(there)


def test_a_warm_up_is_no_piece() -> None:
    warm_up = of(TITLE, kind=SegmentKind.WARM_UP, segment=1)
    assert rowed_session([warm_up, of(TITLE)], TITLE) == (of(TITLE),)


def test_several_other_sessions_of_a_day_are_refused_by_their_titles() -> None:
    there = [of("Tuesday"), of("Regatta"), of(None)]
    with pytest.raises(
        LogError, match=r"(?s)several sessions.*'Tuesday', 'Regatta', one without a title"
    ):
        rowed_session(there, TITLE, DAY)


def test_a_day_without_results_is_refused() -> None:
    with pytest.raises(LogError, match="no results of this rower on that day"):
        rowed_session([of(TITLE)], TITLE, DAY + WEEK)


def test_a_title_that_nobody_rowed_is_refused_with_the_nearest() -> None:
    there = [of("Thursday by the slop", DAY - WEEK), of("Thursday by the slop"), of("Regatta")]
    with pytest.raises(
        LogError,
        match=r"(?s)log\.db: 'Thursday by the slip': there are no results of this rower.*"
        r"Did you mean 'Thursday by the slop', last rowed on 2031-05-24\?",
    ):
        rowed_session(there, TITLE, file="log.db")


def test_a_title_like_no_other_is_refused_with_what_to_do() -> None:
    with pytest.raises(LogError, match=r"(?s)in a session of that title.*--day"):
        rowed_session([of("Regatta"), of(None)], TITLE)


@pytest.mark.parametrize(
    ("session", "other"), [(TITLE.upper(), None), ("Tuesday", "Tuesday"), (None, "")]
)
def test_a_title_that_is_not_the_plans_is_told(session: str | None, other: str | None) -> None:
    assert other_title(of(session), TITLE) == other


def test_every_figure_of_a_result_goes_into_the_review() -> None:
    assert rowed_segment(FULL) == RowedSegment(
        segment=3,
        rate=19,
        split_ms=125_567,
        parts_ms=(126_034, 125_100, 125_600),
        metres=896.0,
        heart_rate=151,
        felt_pct=80,
        duration_ms=240_100,
        label="2 of 4, length",
    )
