"""Every cue that is left out is given the reason that holds, and no other.

Lines here last 50 ms a letter. The true reason is found by brute force: an onset is
looked for from the first one on, jumping over whatever stands in its way.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from random import Random

from cuegen.errors import ScheduleError
from cuegen.schedule.board import Placed
from cuegen.schedule.cuesheet import GAP_MS, LEAD_MS
from cuegen.schedule.place import Placement, place
from cuegen.schedule.reasons import MOST_NAMED, Refused
from cuegen.schedule.rules import SPEEDS, THEME_GAP_MS, Frame, Stretch
from cuegen.script.candidate import Candidate, Line, Wording
from cuegen.script.kinds import CueKind

NO_ROOM = "it has no room between the firm cues and the quiet spans"
NO_TALK = "it has room, but the talk share is spent on lines worth more"
CROWDS = 300

Span = tuple[int, int]


def measure(line: Line) -> int:
    return -int(-50 * len(line.text) // line.speed)


def firm(at_ms: int, letters: int = 10) -> Candidate:
    wordings = tuple(Wording("y" * each, at_ms, at_ms) for each in (letters, 1))
    return Candidate(f"firm.{at_ms}", CueKind.RATE_CHANGE, 0, wordings, firm=True, prefer_ms=at_ms)


def floating(
    name: str,
    window: Span,
    *letters: int,
    value: int = 10,
    wish: int | None = None,
    theme: str | None = None,
    ends_window: bool = False,
) -> Candidate:
    parts = zip(letters or (10,), (100, 80, 60), strict=False)
    wordings = tuple(Wording("x" * each, *window, part) for each, part in parts)
    prefer_ms = window[0] if wish is None else wish
    return Candidate(
        name,
        CueKind.TECHNIQUE,
        0,
        wordings,
        value=value,
        prefer_ms=prefer_ms,
        theme=theme,
        ends_window=ends_window,
    )


def frame(duration: int = 200_000, *, cap: float = 1.0, quiet: tuple[Span, ...] = ()) -> Frame:
    return Frame(duration, (Stretch(0, duration, cap),), quiet, duration)


def refused(*candidates: Candidate, within: Frame | None = None) -> dict[str, Refused]:
    placement = place(candidates, within or frame(), measure)
    return {each.candidate.id: each for each in placement.refused}


def losers(*candidates: Candidate) -> dict[str, tuple[str, ...]]:
    """Return whom each cue left out lost its place to."""
    return {name: each.lost_to for name, each in refused(*candidates).items()}


class TestNoRoom:
    def test_a_cue_shut_in_by_firm_ones_has_no_room(self) -> None:
        # From 5,490 to 6,590 the voice is free; less a gap at both ends 300 ms are left.
        shut_in = floating("a", (5_500, 6_500), 7)
        assert refused(firm(5_000), firm(6_600), shut_in)["a"].why == NO_ROOM

    def test_a_cue_shut_in_by_quiet_has_no_room(self) -> None:
        within = frame(quiet=((4_000, 9_000),))
        assert refused(floating("a", (5_000, 8_000)), within=within)["a"].why == NO_ROOM

    def test_a_cue_that_only_a_floating_line_shuts_out_has_room(self) -> None:
        found = refused(floating("a", (5_000, 5_000)), floating("b", (5_000, 5_000), value=11))
        assert found["a"].why != NO_ROOM

    def test_a_cue_that_has_room_only_a_little_faster_has_room(self) -> None:
        # 40 letters last 2,000 ms; 1,900 are free, and 1,887 enough at six per cent faster.
        pair = [firm(5_000), firm(8_200), floating("b", (5_000, 8_000), 40, value=11)]
        found = refused(*pair, floating("a", (5_000, 8_000), 40))
        assert found["a"].lost_to == ("b",)


class TestNoTalk:
    def test_a_cue_with_room_and_no_talk_left_is_told_so(self) -> None:
        pair = [floating("a", (9_000, 20_000)), floating("b", (30_000, 40_000), value=11)]
        found = refused(*pair, within=frame(cap=0.003))
        assert found == {"a": Refused(pair[0], NO_TALK)}

    def test_a_line_on_its_theme_just_a_minute_away_is_not_in_its_way(self) -> None:
        pair = [
            floating("a", (5_000, 5_000), theme="catch"),
            floating("b", (65_000, 65_000), theme="catch", value=11),
        ]
        assert refused(*pair, within=frame(cap=0.003))["a"].why == NO_TALK

    def test_without_a_limit_nothing_is_left_out(self) -> None:
        pair = [floating("a", (9_000, 20_000)), floating("b", (30_000, 40_000), value=11)]
        assert refused(*pair) == {}


class TestLost:
    def test_the_line_in_its_place_is_named_with_its_words(self) -> None:
        found = refused(floating("a", (5_000, 5_000)), floating("b", (5_000, 5_000), value=11))
        assert found["a"].why == "it lost its place to b (xxxxxxxxxx)"
        assert found["a"].lost_to == ("b",)

    def test_two_in_its_place_are_named_the_nearer_to_its_wish_first(self) -> None:
        three = [
            floating("a", (5_000, 6_000), 40, value=1, wish=5_700),
            floating("b", (4_900, 4_900), value=11),
            floating("c", (6_000, 6_000), value=11),
        ]
        found = refused(*three)
        assert found["a"].why == "it lost its place to c (xxxxxxxxxx) and b (xxxxxxxxxx)"

    def test_of_three_in_its_place_two_are_named(self) -> None:
        crowd = [floating("a", (5_000, 7_000), 30, value=1, wish=6_000)]
        crowd += [floating(str(at), (at, at), value=11) for at in (4_900, 6_000, 7_200)]
        assert losers(*crowd) == {"a": ("6000", "4900")}

    def test_a_line_out_of_its_reach_is_not_named(self) -> None:
        crowd = [
            floating("a", (5_000, 5_000)),
            floating("b", (5_000, 5_000), value=11),
            floating("c", (7_000, 7_000), value=11),
        ]
        assert losers(*crowd) == {"a": ("b",)}

    def test_a_later_line_on_its_theme_is_named(self) -> None:
        pair = [
            floating("a", (5_000, 5_000), theme="catch"),
            floating("b", (60_000, 60_000), theme="catch", value=11),
        ]
        assert losers(*pair) == {"a": ("b",)}

    def test_an_earlier_line_on_its_theme_is_named(self) -> None:
        pair = [
            floating("a", (60_000, 60_000), theme="catch"),
            floating("b", (5_000, 5_000), theme="catch", value=11),
        ]
        assert losers(*pair) == {"a": ("b",)}

    def test_two_lines_on_its_theme_that_leave_nothing_between_them_are_named(self) -> None:
        trio = [
            floating("a", (40_000, 100_000), theme="catch", wish=60_000),
            floating("b", (30_000, 30_000), theme="catch", value=11),
            floating("c", (120_000, 120_000), theme="catch", value=11),
        ]
        assert losers(*trio) == {"a": ("b", "c")}

    def test_a_cue_that_must_end_its_window_loses_to_what_stands_there(self) -> None:
        pair = [
            floating("a", (5_000, 60_000), ends_window=True),
            floating("b", (60_000, 60_000), value=11),
        ]
        assert losers(*pair) == {"a": ("b",)}

    def test_a_line_far_from_its_wish_is_named_where_it_is_in_the_way(self) -> None:
        pair = [
            floating("a", (90_000, 90_000), wish=1_000),
            floating("b", (90_000, 90_000), value=11),
        ]
        assert losers(*pair) == {"a": ("b",)}


def test_what_is_left_out_comes_in_the_order_of_its_wishes() -> None:
    trio = [floating(name, (5_000, 5_000), wish=wish) for name, wish in (("a", 9), ("b", 3))]
    found = refused(*trio, floating("c", (5_000, 5_000), value=11))
    assert list(found) == ["b", "a"]


class TestRandomCrowds:
    def test_the_reason_is_the_one_that_holds(self) -> None:
        told: Counter[str] = Counter()
        for placement, within in placements():
            for each in placement.refused:
                told[each.why.split(" to ")[0]] += 1
                assert each.why.startswith(true_reason(each.candidate, placement, within))
        assert len(told) == 3
        assert min(told.values()) > 20

    def test_whoever_lost_is_told_to_whom_and_those_are_in_the_way(self) -> None:
        for placement, _ in placements():
            cues = {cue.candidate.id: cue for cue in placement.placed}
            for each in placement.refused:
                if each.why in (NO_ROOM, NO_TALK):
                    assert each.lost_to == ()
                    continue
                assert 1 <= len(each.lost_to) <= MOST_NAMED
                assert all(is_in_the_way(cues[name], each.candidate) for name in each.lost_to)

    def test_every_floating_cue_is_either_placed_or_given_a_reason(self) -> None:
        for seed in range(CROWDS):
            candidates, within = crowd(seed)
            try:
                placement = place(candidates, within, measure)
            except ScheduleError:
                continue
            told = [each.candidate.id for each in placement.refused]
            said = [cue.candidate.id for cue in placement.placed]
            assert sorted(told + said) == sorted(each.id for each in candidates)


def crowd(seed: int) -> tuple[list[Candidate], Frame]:
    """Return up to 14 floating cues among up to 8 firm ones, with quiet and short budgets."""
    random = Random(seed)
    duration = random.choice([60_000, 200_000])
    slots = random.sample(range(2_000, duration - 2_000, 2_000), random.randint(0, 8))
    candidates = [firm(at_ms, 20) for at_ms in slots]
    for number in range(random.randint(1, 14)):
        first = random.randint(10, duration - 5_000)
        width = random.choice([0, 1_000, 8_000, 30_000, 90_000])
        last = min(first + width, duration - 1_000)
        candidates.append(
            floating(
                f"c{number}",
                (first, last),
                *(random.randint(1, 80) for _ in range(random.randint(1, 3))),
                value=random.randint(1, 100),
                wish=random.randint(max(0, first - 5_000), last + 5_000),
                theme=random.choice([None, None, "catch", "ratio"]),
                ends_window=random.random() < 0.15,
            )
        )
    quiet = random.choice([(), ((20_000, 25_000),)])
    return candidates, frame(duration, cap=random.choice([1.0, 0.3, 0.1]), quiet=quiet)


def placements() -> Iterator[tuple[Placement, Frame]]:
    for seed in range(CROWDS):
        candidates, within = crowd(seed)
        try:
            placement = place(candidates, within, measure)
        except ScheduleError:  # firm cues that cannot stand are not this file's matter
            continue
        assert placement.proven
        yield placement, within


def true_reason(candidate: Candidate, placement: Placement, within: Frame) -> str:
    among_firm = [cue for cue in placement.placed if cue.candidate.firm]
    ways = list(ways_among(candidate, among_firm, within))
    if not ways:
        return NO_ROOM
    for first, last, length in ways:
        taken = list(taken_spans(candidate, placement.placed, within, length))
        if first_free(first, last, taken) is not None:
            return NO_TALK
    return "it lost its place to "


def ways_among(
    candidate: Candidate, firm_cues: list[Placed], within: Frame
) -> Iterator[tuple[int, int, int]]:
    """Yield first and last onset and length of each wording, at its slowest pace with room."""
    for wording in candidate.wordings:
        for speed in SPEEDS:
            length = measure(Line(wording.text, speed))
            first = max(wording.earliest_ms, LEAD_MS)
            last = min(wording.latest_ms, within.duration_ms - length + LEAD_MS)
            taken = [*clip_spans(firm_cues, length), *quiet_spans(within, length)]
            free = first_free(first, last, taken)
            if free is not None:
                if candidate.ends_window:
                    first = last_free(first, last, taken)
                yield first, last, length
                break


def taken_spans(
    candidate: Candidate, cues: tuple[Placed, ...], within: Frame, length: int
) -> Iterator[Span]:
    """Yield the open spans of onsets that the finished track leaves no clip of that length."""
    yield from clip_spans(cues, length)
    yield from quiet_spans(within, length)
    for cue in cues:
        if candidate.theme is not None and cue.candidate.theme == candidate.theme:
            yield cue.at_ms - THEME_GAP_MS, cue.at_ms + THEME_GAP_MS


def clip_spans(cues: list[Placed] | tuple[Placed, ...], length: int) -> Iterator[Span]:
    for cue in cues:
        yield cue.start_ms - GAP_MS - length + LEAD_MS, cue.end_ms + GAP_MS + LEAD_MS


def quiet_spans(within: Frame, length: int) -> Iterator[Span]:
    for start, end in within.quiet:
        yield start - length + LEAD_MS, end + LEAD_MS


def first_free(first: int, last: int, taken: list[Span]) -> int | None:
    at_ms: int = first
    while at_ms <= last:
        ends = [end for start, end in taken if start < at_ms < end]
        if not ends:
            return at_ms
        at_ms = max(ends)
    return None


def last_free(first: int, last: int, taken: list[Span]) -> int:
    """Return the last free onset of a window that has one: the first, seen from its end."""
    mirrored = first_free(-last, -first, [(-end, -start) for start, end in taken])
    assert mirrored is not None
    return -mirrored


def is_in_the_way(cue: Placed, candidate: Candidate) -> bool:
    """Return whether a line takes onsets from a cue, by its clip or by its theme."""
    if cue.candidate.firm:
        return False
    first = min(wording.earliest_ms for wording in candidate.wordings)
    last = max(wording.latest_ms for wording in candidate.wordings)
    longest = max(measure(Line(wording.text)) for wording in candidate.wordings)
    (start, end), *_ = clip_spans([cue], longest)
    near = abs(max(first, min(cue.at_ms, last)) - cue.at_ms) < THEME_GAP_MS
    shares_theme = candidate.theme is not None and cue.candidate.theme == candidate.theme
    return (start < last and first < end) or (shares_theme and near)
