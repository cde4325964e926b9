"""Cutting a stream into stretches: however it is cut into blocks, and never holding it all."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.schedule.cuesheet import Cue
from cuegen.script.kinds import CueKind
from cuegen.verify.stretches import PLANNED, REACH_MS, stretches


def cue(number: int, start_ms: int, end_ms: int) -> Cue:
    return Cue(
        id=f"c{number}",
        kind=CueKind.OWN,
        firm=True,
        at_ms=start_ms,
        start_ms=start_ms,
        end_ms=end_ms,
        text="Row.",
        segment=0,
    )


CUES = [cue(0, 100, 700), cue(1, 1_000, 1_400), cue(2, 6_000, 8_000), cue(3, 9_800, 10_400)]
TRACK = np.arange(1, 10 * SAMPLE_RATE + 1, dtype=np.float32)[:, np.newaxis]


@settings(max_examples=30, deadline=None)
@given(st.lists(st.integers(1, 10 * SAMPLE_RATE - 1), max_size=12, unique=True))
def test_blocks_of_any_length_give_the_same_stretches(cuts: list[int]) -> None:
    found = list(stretches(iter(np.split(TRACK, sorted(cuts))), CUES, 1))
    assert [each.cue.id for each in found] == ["c0", "c1", "c2", "c3"]
    for each in found:
        first = samples_at(each.cue.start_ms)
        assert each.sound[PLANNED, 0] == TRACK[first, 0]
        assert len(each.sound) == samples_at(each.cue.end_ms + REACH_MS) - samples_at(
            each.cue.start_ms - REACH_MS
        )


def test_what_lies_outside_the_track_is_silence() -> None:
    found = list(stretches(iter([TRACK]), CUES, 1))
    assert not found[0].sound[: PLANNED - samples_at(100)].any()
    assert not found[3].sound[-samples_at(REACH_MS + 400) :].any()


def test_the_quiet_around_a_line_ends_where_its_neighbours_begin() -> None:
    found = list(stretches(iter([TRACK]), CUES, 1))
    assert [each.clear_before_ms for each in found] == [REACH_MS, 300, REACH_MS, 1_800]
    assert [each.clear_after_ms for each in found] == [300, REACH_MS, 1_800, REACH_MS]


def test_a_long_track_is_never_held() -> None:
    """An hour of blocks that are made when asked for and would not fit otherwise."""
    alive: list[int] = []

    class Block(np.ndarray):
        def __del__(self) -> None:
            alive.pop()

    def hour() -> Iterator[np.ndarray]:
        for _ in range(3_600):
            alive.append(1)
            assert len(alive) < 5
            yield np.zeros((480, 1), dtype=np.float32).view(Block)

    assert len(list(stretches(hour(), CUES, 1))) == len(CUES)
