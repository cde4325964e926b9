"""A session's talk is shared out within its budget, evenly, and none of it is lost."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate, combinations

from hypothesis import given
from hypothesis import strategies as st

from cuegen.schedule.rules import EASY_WEIGHT, HARD_WEIGHT, Frame, Stretch
from cuegen.schedule.sharing import shared_out

MINUTE = 60_000


@dataclass(frozen=True, slots=True)
class Session:
    frame: Frame
    firm_ms: tuple[int, ...]
    wanted_ms: tuple[int, ...]

    @property
    def given_ms(self) -> tuple[int, ...]:
        return shared_out(self.frame, self.firm_ms, self.wanted_ms)

    @property
    def whole_ms(self) -> int:
        """What is said whatever the budget: all firm cues, the opening and the close."""
        floating = zip(self.frame.stretches, self.wanted_ms, strict=True)
        return sum(self.firm_ms) + sum(ms for stretch, ms in floating if stretch.weight == 0)

    def even_ms(self, number: int) -> float:
        """Return what the talk of a stretch is measured against: its length by its weight."""
        stretch = self.frame.stretches[number]
        return (stretch.end_ms - stretch.start_ms) * stretch.weight / 100

    def part_of(self, number: int) -> float:
        """Return all talk of a stretch, as a part of that."""
        return (self.firm_ms[number] + self.given_ms[number]) / self.even_ms(number)


def session(
    *stretches: tuple[int, int, int, int], budget: int, opening: int = 0, close: int = 0
) -> Session:
    """Return a session. stretches: length, weight, firm talk and talk wanted of each.

    opening, close: talk wanted before the first and after the last of them.
    """
    rows = [(MINUTE, 0, 0, opening), *stretches, (MINUTE, 0, 0, close)]
    ends = list(accumulate(row[0] for row in rows))
    made = tuple(
        Stretch(end - length, end, 0.8, weight)
        for end, (length, weight, _, _) in zip(ends, rows, strict=True)
    )
    frame = Frame(ends[-1], made, (), budget)
    return Session(frame, tuple(row[2] for row in rows), tuple(row[3] for row in rows))


@st.composite
def sessions(draw: st.DrawFn) -> Session:
    """Draw up to ten stretches of a second to an hour with as much talk as they can hold."""
    stretches: list[tuple[int, int, int, int]] = []
    for length in draw(st.lists(st.integers(1_000, 60 * MINUTE), max_size=10)):
        weight = draw(st.integers(HARD_WEIGHT, EASY_WEIGHT))
        talk = st.integers(0, min(length, 200_000))
        stretches.append((length, weight, draw(talk), draw(talk)))
    return session(
        *stretches,
        budget=draw(st.integers(0, 2_000_000)),
        opening=draw(st.integers(0, MINUTE)),
        close=draw(st.integers(0, MINUTE)),
    )


@given(sessions())
def test_the_budget_is_kept_but_for_what_is_said_whatever_it_is(each: Session) -> None:
    talk_ms = sum(each.firm_ms) + sum(each.given_ms)
    assert talk_ms <= max(each.frame.budget_ms, each.whole_ms)


@given(sessions())
def test_no_stretch_gets_more_than_it_wants_nor_less_than_nothing(each: Session) -> None:
    for given_ms, wanted_ms in zip(each.given_ms, each.wanted_ms, strict=True):
        assert 0 <= given_ms <= wanted_ms


@given(sessions())
def test_opening_and_close_are_said_whole(each: Session) -> None:
    assert each.given_ms[0] == each.wanted_ms[0]
    assert each.given_ms[-1] == each.wanted_ms[-1]


@given(sessions())
def test_what_one_stretch_does_not_use_goes_to_the_others(each: Session) -> None:
    """Talk is left over only where nobody wants more, but for a millisecond a stretch."""
    left_ms = each.frame.budget_ms - sum(each.firm_ms) - sum(each.given_ms)
    if each.given_ms != each.wanted_ms:
        slack_ms = sum(
            1 + (s.end_ms - s.start_ms) * s.weight // (100 << 20) for s in each.frame.stretches
        )
        assert left_ms <= slack_ms


@given(sessions())
def test_stretches_that_go_short_get_the_same_part_of_length_and_weight(each: Session) -> None:
    """Firm talk counts; a stretch with more of it than its part gets no more beside it."""
    short = [
        number
        for number, (given_ms, wanted_ms) in enumerate(
            zip(each.given_ms, each.wanted_ms, strict=True)
        )
        if given_ms < wanted_ms
    ]
    for one, other in combinations(short, 2):
        for less, more in ((one, other), (other, one)):
            if each.given_ms[more] > 0:
                # Whole milliseconds round each of the two parts.
                ms = 1 / each.even_ms(less) + 1 / each.even_ms(more)
                assert each.part_of(more) <= each.part_of(less) + ms


@given(sessions(), st.integers(0, 100_000))
def test_a_greater_budget_takes_nothing_from_any_stretch(each: Session, more_ms: int) -> None:
    frame = each.frame
    wider = Frame(frame.duration_ms, frame.stretches, (), frame.budget_ms + more_ms)
    with_more = shared_out(wider, each.firm_ms, each.wanted_ms)
    assert all(one <= other for one, other in zip(each.given_ms, with_more, strict=True))


def test_a_budget_for_all_gives_all() -> None:
    each = session((5 * MINUTE, 100, 7_000, 60_000), (MINUTE, 75, 0, 30_000), budget=97_000)
    assert each.given_ms == each.wanted_ms


def test_easy_and_hard_rowing_of_one_length_share_as_their_weights() -> None:
    wish = 100_000
    each = session(
        (5 * MINUTE, EASY_WEIGHT, 0, wish), (5 * MINUTE, HARD_WEIGHT, 0, wish), budget=82_000
    )
    _, easy_ms, hard_ms, _ = each.given_ms
    assert abs(easy_ms - 82_000 * 130 / 205) <= 1
    assert abs(hard_ms - 82_000 * 75 / 205) <= 1


def test_twice_the_length_gets_twice_the_talk() -> None:
    wish = 100_000
    each = session((4 * MINUTE, 100, 0, wish), (2 * MINUTE, 100, 0, wish), budget=90_000)
    _, long_ms, brief_ms, _ = each.given_ms
    assert abs(long_ms - 60_000) <= 1
    assert abs(brief_ms - 30_000) <= 1


def test_firm_talk_counts_towards_a_stretchs_part() -> None:
    wish = 100_000
    each = session((4 * MINUTE, 100, 20_000, wish), (4 * MINUTE, 100, 0, wish), budget=90_000)
    _, with_firm_ms, without_ms, _ = each.given_ms
    assert abs(with_firm_ms - 25_000) <= 1
    assert abs(without_ms - 45_000) <= 1


def test_firm_talk_beyond_the_budget_leaves_the_rowing_without_floating_cues() -> None:
    each = session((4 * MINUTE, 100, 50_000, 30_000), budget=40_000, opening=9_000, close=4_000)
    assert each.given_ms == (9_000, 0, 4_000)


def test_a_stretch_that_wants_little_leaves_its_part_to_the_next() -> None:
    each = session((4 * MINUTE, 100, 0, 5_000), (4 * MINUTE, 100, 0, 90_000), budget=80_000)
    _, modest_ms, greedy_ms, _ = each.given_ms
    assert modest_ms == 5_000
    assert 74_998 <= greedy_ms <= 75_000
