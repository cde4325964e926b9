"""Placement keeps its rules. Lines here last 50 ms a letter, so every number can be reckoned."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuegen.errors import ScheduleError, Where
from cuegen.schedule.board import Placed
from cuegen.schedule.cuesheet import GAP_MS, LEAD_MS
from cuegen.schedule.place import Placement, place
from cuegen.schedule.rules import THEME_GAP_MS, Frame, Stretch
from cuegen.script.candidate import Candidate, Line, Wording
from cuegen.script.kinds import CueKind


def measure(line: Line) -> int:
    """50 ms a letter at the voice's own pace, rounded up when faster."""
    return -int(-50 * len(line.text) // line.speed)


def firm(at_ms: int, *texts: str, kind: CueKind = CueKind.RATE_CHANGE, line: int = 1) -> Candidate:
    return Candidate(
        id=f"firm.{at_ms}",
        kind=kind,
        segment=0,
        wordings=tuple(Wording(text, at_ms, at_ms) for text in texts),
        firm=True,
        where=Where(file="plan.yaml", line=line),
    )


def floating(
    name: str,
    window: tuple[int, int],
    *texts: str,
    value: int = 10,
    prefer: int | None = None,
    theme: str | None = None,
) -> Candidate:
    return Candidate(
        id=name,
        kind=CueKind.TECHNIQUE,
        segment=0,
        wordings=tuple(
            Wording(text, *window, part) for text, part in zip(texts, (100, 80, 60), strict=False)
        ),
        value=value,
        prefer_ms=window[0] if prefer is None else prefer,
        theme=theme,
    )


def frame(
    duration: int = 60_000,
    *,
    cap: float = 1.0,
    budget: int | None = None,
    quiet: tuple[tuple[int, int], ...] = (),
) -> Frame:
    stretches = (Stretch(0, duration, cap),)
    return Frame(duration, stretches, quiet, duration if budget is None else budget)


def by_id(placement: Placement) -> dict[str, Placed]:
    return {cue.candidate.id: cue for cue in placement.placed}


class TestFirm:
    def test_stands_on_its_instant_with_its_clip_starting_lead_ms_earlier(self) -> None:
        (cue,) = place([firm(5_000, "x" * 20)], frame(), measure).placed
        assert (cue.at_ms, cue.start_ms, cue.end_ms) == (5_000, 5_000 - LEAD_MS, 5_990)

    def test_is_spoken_faster_when_the_next_one_is_close(self) -> None:
        # 40 letters last 2,000 ms; 1,600 ms of room are left at 2,000 - gap; 6 % gives 1,887.
        pair = [firm(5_000, "x" * 40), firm(7_300, "y")]
        cue = by_id(place(pair, frame(), measure))["firm.5000"]
        assert cue.line.speed == 1.06
        assert cue.end_ms <= 7_300 - LEAD_MS - GAP_MS

    def test_takes_the_shorter_wording_when_faster_is_not_enough(self) -> None:
        pair = [firm(5_000, "x" * 40, "z" * 20), firm(6_500, "y")]
        cue = by_id(place(pair, frame(), measure))["firm.5000"]
        assert (cue.line.text, cue.line.speed) == ("z" * 20, 1.0)

    def test_beats_of_one_count_may_touch(self) -> None:
        # 20 letters last 1,000 ms exactly, so each beat ends where the next begins.
        beats = [firm(at, "x" * 20, kind=CueKind.BEAT) for at in (5_000, 6_000, 7_000)]
        ends = [cue.end_ms for cue in place(beats, frame(), measure).placed]
        assert ends == [5_990, 6_990, 7_990]

    def test_beats_that_would_overlap_are_an_error_naming_the_plan_line(self) -> None:
        beats = [
            firm(5_000, "x" * 30, kind=CueKind.BEAT, line=7),
            firm(6_000, "y", kind=CueKind.BEAT),
        ]
        with pytest.raises(
            ScheduleError, match=r"line 7: .* lasts 1\.34 s, but 'y' leaves it 1\.00"
        ):
            place(beats, frame(), measure)

    def test_two_lines_closer_than_the_gap_are_an_error(self) -> None:
        pair = [firm(5_000, "x" * 10, line=3), firm(5_700, "y")]
        with pytest.raises(ScheduleError, match=r"line 3: .* leaves it 0\.30 s"):
            place(pair, frame(), measure)

    def test_before_the_first_sample_is_an_error(self) -> None:
        with pytest.raises(ScheduleError, match="before the track begins"):
            place([firm(0, "x")], frame(), measure)

    def test_past_the_end_of_the_track_is_an_error(self) -> None:
        with pytest.raises(ScheduleError, match="the end of the track"):
            place([firm(59_500, "x" * 20)], frame(), measure)


class TestFloating:
    def test_goes_where_it_is_preferred(self) -> None:
        (cue,) = place(
            [floating("a", (1_000, 9_000), "x" * 10, prefer=4_321)], frame(), measure
        ).placed
        assert cue.at_ms == 4_321

    def test_moves_to_the_nearest_room_beside_a_firm_cue(self) -> None:
        # The firm clip covers 4,990 to 5,490; the floating one lasts 500 ms.
        pair = [firm(5_000, "y" * 10), floating("a", (1_000, 9_000), "x" * 10, prefer=5_000)]
        cue = by_id(place(pair, frame(), measure))["a"]
        assert cue.at_ms == 4_990 - GAP_MS - 500 + LEAD_MS

    def test_the_more_valuable_of_two_wins_the_room(self) -> None:
        rivals = [
            floating("low", (5_000, 5_000), "x" * 10, value=10),
            floating("high", (5_000, 5_000), "y" * 10, value=11),
        ]
        placement = place(rivals, frame(), measure)
        assert [cue.candidate.id for cue in placement.placed] == ["high"]
        assert [r.candidate.id for r in placement.refused] == ["low"]
        assert placement.refused[0].why == f"it lost its place to high ({'y' * 10})"
        assert placement.refused[0].lost_to == ("high",)

    def test_takes_a_shorter_wording_where_the_long_one_has_no_room(self) -> None:
        crowd = [
            firm(5_000, "y"),
            firm(7_000, "y"),
            floating("a", (5_500, 6_500), "x" * 40, "z" * 8),
        ]
        assert by_id(place(crowd, frame(), measure))["a"].line == Line("z" * 8, 1.0)

    def test_keeps_out_of_quiet_spans_whole(self) -> None:
        cue = floating("a", (1_000, 9_000), "x" * 10, prefer=5_000)
        placed = place([cue], frame(quiet=((4_000, 8_000),)), measure).placed[0]
        assert placed.end_ms == 4_000

    def test_one_theme_is_not_touched_twice_within_its_spacing(self) -> None:
        twice = [
            floating("a", (1_000, 1_000), "x" * 10, theme="catch", value=20),
            floating("b", (2_000, 100_000), "z" * 10, theme="catch"),
        ]
        cues = by_id(place(twice, frame(200_000), measure))
        assert cues["b"].at_ms - cues["a"].at_ms == THEME_GAP_MS

    def test_stops_at_the_talk_share_of_the_session(self) -> None:
        cues = [floating(str(i), (1_000, 50_000), "x" * 10, value=10 - i) for i in range(3)]
        placement = place(cues, frame(budget=1_000), measure)
        assert [cue.candidate.id for cue in placement.placed] == ["0", "1"]
        assert "the talk share is spent" in placement.refused[0].why

    def test_stops_at_the_cap_of_its_segment(self) -> None:
        cues = [floating(str(i), (1_000, 50_000), "x" * 10, value=10 - i) for i in range(3)]
        placement = place(cues, frame(cap=0.02), measure)
        assert [cue.candidate.id for cue in placement.placed] == ["0", "1"]
        assert "the talk share is spent" in placement.refused[0].why


_windows = st.tuples(st.integers(10, 58_000), st.integers(0, 20_000))
_texts = st.lists(st.integers(1, 60).map("x".__mul__), min_size=1, max_size=3)


@st.composite
def _crowds(draw: st.DrawFn) -> list[Candidate]:
    firms = draw(st.lists(st.integers(1, 29), unique=True, max_size=8))
    crowd = [firm(2_000 * slot, "y" * 20, "y") for slot in firms]
    for number in range(draw(st.integers(0, 12))):
        low, width = draw(_windows)
        window = (low, min(low + width, 59_000))
        crowd.append(
            floating(
                f"c{number}",
                window if window[0] <= window[1] else (low, low),
                *draw(_texts),
                value=draw(st.integers(1, 100)),
                prefer=draw(st.integers(0, 60_000)),
                theme=draw(st.sampled_from([None, "catch", "ratio"])),
            )
        )
    return crowd


@given(crowd=_crowds(), cap=st.floats(0.1, 1), quiet_from=st.integers(0, 60_000))
def test_no_crowd_breaks_a_rule(crowd: list[Candidate], cap: float, quiet_from: int) -> None:
    """Firm cues exact, no overlap, gaps kept, windows, quiet, spacing and caps respected."""
    quiet = (quiet_from, quiet_from + 5_000)
    result = place(crowd, frame(cap=cap, budget=30_000, quiet=(quiet,)), measure)
    by_start = sorted(result.placed, key=lambda cue: cue.start_ms)
    for first, second in itertools.pairwise(by_start):
        assert second.start_ms - first.end_ms >= GAP_MS
    assert {c.id for c in crowd if c.firm} <= {cue.candidate.id for cue in result.placed}
    themes: dict[str, list[int]] = {}
    for cue in by_start:
        window = next(w for w in cue.candidate.wordings if w.text == cue.line.text)
        assert window.earliest_ms <= cue.at_ms <= window.latest_ms
        assert cue.length_ms == measure(cue.line)
        if not cue.candidate.firm:
            assert cue.end_ms <= quiet[0] or cue.start_ms >= quiet[1]
        if cue.candidate.theme:
            themes.setdefault(cue.candidate.theme, []).append(cue.at_ms)
    for onsets in themes.values():
        assert all(b - a >= THEME_GAP_MS for a, b in itertools.pairwise(onsets))
    assert len(result.placed) + len(result.refused) == len(crowd)
    floats = sum(cue.length_ms for cue in by_start if not cue.candidate.firm)
    assert floats <= max(0, int(60_000 * cap))


@given(crowd=_crowds(), order=st.randoms())
def test_the_order_in_which_candidates_come_changes_nothing(crowd: list[Candidate], order) -> None:  # type: ignore[no-untyped-def]
    first = place(crowd, frame(), measure)
    shuffled = list(crowd)
    order.shuffle(shuffled)
    assert place(shuffled, frame(), measure).placed == first.placed
