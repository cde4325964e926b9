"""A session against its rower's tests: verdicts, words, and what may never be called easier.

Marks: CP common practice, no source; D derived by hand from the formula beside it.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuegen.plan.model import Break, Distance, Duration, Entry, Length, SegmentKind, SplitTarget
from cuegen.targets.critical_power import CriticalPower, share_by_balance
from cuegen.targets.endurance import EnduranceTest, endurance, parse_test
from cuegen.targets.outline import Outline
from cuegen.targets.power import watts_from_split
from cuegen.targets.realism import (
    BEYOND_FROM,
    HARD_FROM,
    REMEDIES,
    Judgement,
    Measure,
    Scope,
    Verdict,
    judge,
)
from cuegen.targets.resolve import outline
from cuegen.targets.totals import totals
from tests.targets.plans import COOL_DOWN, PADDLE, REST, ROW, WARM_UP, entry, minutes, session

TWO_K = (parse_test("2k 8:00"),)
BOTH = (parse_test("2k 8:00"), parse_test("5k 21:10"))
RANKS = {verdict: rank for rank, verdict in enumerate(Verdict)}


def held(split_ms: int, length: Length | float = 8, **more: object) -> Entry:
    return entry(ROW, length, 24, targets=(SplitTarget(split_ms),), **more)  # type: ignore[arg-type]


def judged(*entries: Entry, tests: tuple[EnduranceTest, ...] = TWO_K) -> tuple[Judgement, ...]:
    return judge(outline(session(*entries)), tests)


def only(*entries: Entry, tests: tuple[EnduranceTest, ...] = TWO_K) -> Judgement:
    found = judged(*entries, tests=tests)
    assert len(found) == 1, [str(one) for one in found]
    return found[0]


# ------------------------------------------------------------------- verdicts


@pytest.mark.parametrize(
    ("split_ms", "verdict"),
    [
        (119_200, Verdict.BEYOND),
        (119_300, Verdict.HARD),
        (120_000, Verdict.HARD),
        (124_200, Verdict.HARD),
        (124_300, Verdict.WITHIN),
        (140_000, Verdict.WITHIN),
    ],
)
def test_eight_minutes_against_a_2k_of_eight_minutes(split_ms: int, verdict: Verdict) -> None:
    """D: (120/split)^3 against 0.90 and 1.02: 1:59.2 is 1.0203, 1:59.3 1.0177, 2:04.2 0.9020,
    2:04.3 0.8998."""
    found = only(held(split_ms))
    assert found.verdict is verdict
    assert found.share == pytest.approx((120_000 / split_ms) ** 3, rel=1e-12)


def test_a_good_day_is_not_beyond_the_tests() -> None:
    """S: 2.0 % from one 2000 m test to the next (Schabort et al. 1999)."""
    assert BEYOND_FROM == 1.02
    assert HARD_FROM == 0.90


def test_the_number_behind_the_verdict_stands_in_words() -> None:
    """D: four steps of 4:00 at 2:14, 2:10, 2:06 and 2:02.5: mean of 145.5, 159.3, 175.0 and
    190.4 W is 167.5 W; 2k in 8:00 and 5k in 21:10 allow 152.2 + 24199 / 960 = 177 W."""
    steps = tuple(map(SplitTarget, (134_000, 130_000, 126_000, 122_500)))
    found = only(entry(ROW, 4, 17, 19, 21, 23, targets=steps), tests=BOTH)
    assert found.message == (
        "The session is hard: mean of 168 W for 16:00; your tests allow about 177 W "
        "(critical power of 2 tests)."
    )
    assert (found.scope, found.measure, found.pieces) == (Scope.SESSION, Measure.MEAN, (1, 4))


def test_which_rule_was_used_is_said() -> None:
    assert only(held(140_000, 44), tests=BOTH).message.endswith(
        "(outside the fit: 5 s per doubling from your 5k)."
    )
    assert only(held(140_000, 44)).message.endswith(
        "(5 s per doubling from your 2k, far off and so rough)."
    )


@pytest.mark.parametrize("verdict", Verdict)
def test_every_verdict_defers_to_a_coach(verdict: Verdict) -> None:
    assert "coach" in REMEDIES[verdict]


def test_a_finding_ends_with_what_to_do() -> None:
    assert str(only(held(110_000))).endswith(
        "(5 s per doubling from your 2k). Ask less, or talk it over with a qualified coach first."
    )


def test_nothing_is_said_without_tests_or_work() -> None:
    assert judged(held(120_000), tests=()) == ()
    assert judged(entry(WARM_UP, 10, 18), entry(COOL_DOWN, 5, 18)) == ()


def test_warm_up_and_cool_down_are_left_out() -> None:
    bare = only(held(121_000))
    dressed = only(entry(WARM_UP, 10, 18), held(121_000), entry(COOL_DOWN, 5, 18))
    assert dressed == bare


# -------------------------------------------------------- stretches and runs


def test_the_hardest_stretch_decides() -> None:
    """D: 12:00 at 2:20 and 8:00 at 2:00: the 8:00 alone is all that the 2k shows."""
    found = only(held(140_000, 12), held(120_000, 8))
    assert found.pieces == (2, 2)
    assert found.share == pytest.approx(1.0, rel=1e-12)
    assert found.message.startswith(
        "The session is hard, hardest over piece 2: mean of 203 W for 8:00; your tests allow "
    )


def test_the_mean_of_a_run_is_that_of_the_totals() -> None:
    laid = outline(session(held(130_000, 5), held(127_000, 4), held(124_000, 3)))
    (found,) = judge(laid, TWO_K)
    assert found.pieces == (1, 3)
    assert found.watts == pytest.approx(totals(laid).work.watts, rel=1e-12)
    assert found.length_ms == totals(laid).work.time_ms


@pytest.mark.parametrize(("rest", "runs"), [(59.999, 1), (60.0, 2)])
def test_a_break_of_a_minute_ends_a_run(rest: float, runs: int) -> None:
    found = judged(held(125_000, 6), entry(REST, Duration(round(rest * 1000))), held(127_000, 6))
    assert len([one for one in found if one.scope is Scope.RUN]) == (runs if runs > 1 else 0)


def test_a_short_break_counts_in_the_mean_as_it_is() -> None:
    """D: 2 x 6:00 at 2:05 (179.2 W) with 0:30 of rest: 179.2 x 12 / 12.5 = 172.0 W for 12:30."""
    found = only(held(125_000, 6, repeats=2, rest=Break(REST, minutes(0.5))))
    assert found.length_ms == 750_000
    assert found.watts == pytest.approx(172.032, rel=1e-12)


def test_the_session_comes_first_then_each_run() -> None:
    found = judged(held(122_000, 6), entry(REST, 5), held(126_000, 10))
    assert [one.scope for one in found] == [Scope.SESSION, Scope.RUN, Scope.RUN]
    assert [one.pieces for one in found[1:]] == [(1, 1), (2, 2)]
    assert found[1].message.startswith("Piece 1 is hard: mean of 193 W for 6:00; ")
    assert found[2].message.startswith("Piece 2 is within reach: mean of 175 W for 10:00; ")


def test_runs_alike_are_told_once() -> None:
    found = judged(held(115_000, Distance(500), repeats=8, rest=Break(REST, minutes(2))))
    assert [(one.scope, one.alike) for one in found] == [(Scope.SESSION, 1), (Scope.RUN, 8)]
    assert found[1].message.startswith("Pieces 1 to 8 are each within reach: mean of 230 W for ")


def test_runs_of_several_pieces_alike_are_told_once() -> None:
    pair = (held(130_000, 4), held(126_000, 4))
    found = judged(*pair, entry(REST, 3), *pair)
    assert found[1].message.startswith("Pieces 1 to 4, 2 runs alike, are each within reach: ")
    assert (found[1].alike, found[1].pieces) == (2, (1, 2))


def test_breaks_count_over_the_session_too() -> None:
    """D: 6 x 4:00 at 2:02 (192.8 W) with 1:00 of rest, 29:00 in all: each alone is within reach
    of a 2k at 2:00, but together they are 159.5 W for 29:00, where 5 s per doubling allow 158."""
    session_, run = judged(held(122_000, 4, repeats=6, rest=Break(REST, minutes(1))))
    assert run.verdict is Verdict.WITHIN
    assert (session_.verdict, session_.length_ms) == (Verdict.HARD, 29 * 60_000)
    assert session_.watts == pytest.approx(watts_from_split(122_000) * 24 / 29, rel=1e-12)


def test_what_no_target_sets_is_called_reckoned() -> None:
    found = only(held(130_000, 8), entry(ROW, 6, 24))
    assert found.reckoned_ms == 6 * 60_000
    assert found.message.endswith(" No target sets 6:00 of it: its power is reckoned.")
    assert only(held(130_000)).reckoned_ms == 0


# -------------------------------------------------------------------- balance

THOUSANDS = held(119_000, Distance(1000), repeats=3, rest=Break(PADDLE, minutes(3)))


def test_breaks_that_give_too_little_back_make_a_session_hard() -> None:
    found = judged(THOUSANDS, tests=BOTH)[0]
    assert (found.measure, found.verdict) == (Measure.BALANCE, Verdict.HARD)
    assert found.message == (
        "The session is hard: mean of 208 W over 11:54 of work; with these breaks about 197 W "
        "would use up all that your tests show above critical power (a model, so a guide only)."
    )


def test_the_balance_is_that_of_work_and_breaks() -> None:
    laid = outline(session(THOUSANDS))
    able = endurance(BOTH)
    assert able.fit is not None
    spans = [(one.length_ms / 1000, one.watts) for one in laid.segments]
    found = judge(laid, BOTH)[0]
    assert found.share == pytest.approx(share_by_balance(able.fit, spans), rel=1e-12)
    assert found.length_ms == totals(laid).work.time_ms
    assert found.watts == pytest.approx(totals(laid).work.watts, rel=1e-12)


def test_the_balance_alone_never_says_beyond() -> None:
    found = judged(THOUSANDS, tests=BOTH)[0]
    assert found.share > BEYOND_FROM
    assert found.verdict is Verdict.HARD


def test_what_is_beyond_by_mean_power_stays_so_whatever_the_balance_says() -> None:
    fast = held(106_000, Distance(500), repeats=8, rest=Break(REST, minutes(2)))
    found = judged(fast, tests=BOTH)[0]
    assert (found.measure, found.verdict) == (Measure.MEAN, Verdict.BEYOND)


def test_without_a_fit_the_breaks_are_averaged() -> None:
    assert {one.measure for one in judged(THOUSANDS)} == {Measure.MEAN}


def test_a_fit_of_one_s_own_is_used() -> None:
    """D: 150 + 20000 / 600 = 183.3 W for ten minutes."""
    (found,) = judge(outline(session(held(130_000, 10))), TWO_K, CriticalPower(150.0, 20_000.0))
    assert found.allowed_watts == pytest.approx(150 + 20_000 / 600, rel=1e-12)


# ----------------------------------------------------------------- invariants

TESTS = st.sampled_from(
    [
        TWO_K,
        BOTH,
        (parse_test("500m 1:40"), parse_test("1k 3:44"), *BOTH, parse_test("60min 13100m")),
        (parse_test("30min 6800m"),),
    ]
)
LENGTHS = st.one_of(
    st.builds(Duration, st.integers(30_000, 1_800_000)), st.builds(Distance, st.integers(250, 6000))
)
Piece = tuple[Length, int, int]
"""A length, a split (ms per 500 m), and the rest (s) before it."""

PIECES = st.lists(
    st.tuples(LENGTHS, st.integers(95_000, 160_000), st.sampled_from((0, 20, 59, 60, 120, 300))),
    min_size=1,
    max_size=5,
)


def laid(pieces: list[Piece]) -> Outline:
    """Lay pieces out with rests between them."""
    entries: list[Entry] = []
    for length, split_ms, rest in pieces:
        if rest and entries:
            entries.append(entry(SegmentKind.REST, Duration(rest * 1000)))
        entries.append(held(split_ms, length))
    return outline(session(*entries))


def hardest(pieces: list[Piece], tests: tuple[EnduranceTest, ...]) -> tuple[int, float]:
    """Return the worst verdict's rank, and the greatest share by mean power."""
    found = judge(laid(pieces), tests)
    shares = [one.share for one in found if one.measure is Measure.MEAN]
    return max(RANKS[one.verdict] for one in found), max(shares, default=0.0)


def never_easier(easy: list[Piece], hard: list[Piece], tests: tuple[EnduranceTest, ...]) -> None:
    before, after = hardest(easy, tests), hardest(hard, tests)
    assert after[0] >= before[0]
    if endurance(tests).fit is None:
        assert after[1] >= before[1] * (1 - 1e-9)


@given(PIECES, TESTS, st.data())
def test_more_power_is_never_judged_easier(
    pieces: list[Piece], tests: tuple[EnduranceTest, ...], data: st.DataObject
) -> None:
    place = data.draw(st.integers(0, len(pieces) - 1))
    length, split_ms, rest = pieces[place]
    faster = split_ms - data.draw(st.integers(1, 15_000))
    never_easier(pieces, [*pieces[:place], (length, faster, rest), *pieces[place + 1 :]], tests)


def times(length: Length, share: float) -> Length:
    if isinstance(length, Duration):
        return Duration(round(length.ms * share))
    return Distance(round(length.metres * share))


@given(PIECES, TESTS, st.floats(1.05, 3))
def test_every_piece_longer_is_never_judged_easier(
    pieces: list[Piece], tests: tuple[EnduranceTest, ...], share: float
) -> None:
    """All pieces at one power: a longer easy piece between hard ones is a longer recovery."""
    even = [(length, pieces[0][1], rest) for length, _, rest in pieces]
    longer = [(times(length, share), split_ms, rest) for length, split_ms, rest in even]
    never_easier(even, longer, tests)


@given(PIECES, TESTS, st.floats(1.05, 3))
def test_the_hardest_piece_longer_is_never_judged_easier(
    pieces: list[Piece], tests: tuple[EnduranceTest, ...], share: float
) -> None:
    place = min(range(len(pieces)), key=lambda n: pieces[n][1])
    length, split_ms, rest = pieces[place]
    longer = (times(length, share), split_ms, rest)
    never_easier(pieces, [*pieces[:place], longer, *pieces[place + 1 :]], tests)


@given(PIECES, PIECES, TESTS)
def test_one_more_piece_is_never_judged_easier(
    pieces: list[Piece], extra: list[Piece], tests: tuple[EnduranceTest, ...]
) -> None:
    never_easier(pieces, [*pieces, extra[0]], tests)


@given(PIECES, TESTS)
def test_a_judgement_holds_together_and_is_the_same_each_time(
    pieces: list[Piece], tests: tuple[EnduranceTest, ...]
) -> None:
    found = judge(laid(pieces), tests)
    assert found == judge(laid(pieces), tests)
    assert found[0].scope is Scope.SESSION
    for one in found:
        assert 1 <= one.pieces[0] <= one.pieces[1] <= len(pieces)
        assert one.verdict.value in one.message
        assert f"{one.watts:.0f} W" in one.message
        assert "coach" in str(one)


@given(PIECES, TESTS)
def test_no_run_is_judged_harder_than_its_session(
    pieces: list[Piece], tests: tuple[EnduranceTest, ...]
) -> None:
    whole, *runs = judge(laid(pieces), tests)
    assert all(RANKS[run.verdict] <= RANKS[whole.verdict] for run in runs)
    assert all(run.share <= whole.share * (1 + 1e-9) for run in runs)
