"""Placement: firm cues on their instants, floating ones where they are worth most.

Firm cues come first and always stand; where two of them cannot both be spoken
the plan is at fault and the error names its line. Floating cues then follow in
order of value: each takes its best wording that has room, at the onset nearest
to the one that suits it, a little faster where the room is short, else in a
shorter wording. The result depends on nothing but the arguments.

`measure` gives the length in milliseconds of a line's finished clip in the
chosen voice, so that what is placed here is what will be heard.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from cuegen.errors import ScheduleError
from cuegen.schedule.board import Board, Placed
from cuegen.schedule.cuesheet import GAP_MS, LEAD_MS
from cuegen.schedule.rules import SPEEDS, THEME_GAP_MS, Frame
from cuegen.script.candidate import Candidate, Line, Wording
from cuegen.script.kinds import CueKind

Measure = Callable[[Line], int]


@dataclass(frozen=True, slots=True)
class Refused:
    """A floating candidate without a place. why: in words for the coach."""

    candidate: Candidate
    why: str


@dataclass(frozen=True, slots=True)
class Placement:
    placed: tuple[Placed, ...]
    refused: tuple[Refused, ...]


def place(candidates: Iterable[Candidate], frame: Frame, measure: Measure) -> Placement:
    """Place every firm candidate and as many floating ones as the rules allow.

    Raises ScheduleError where firm cues cannot all stand.
    """
    board = Board(frame)
    pool = tuple(candidates)
    for cue in _place_firm([c for c in pool if c.firm], frame, measure):
        board.put(cue)
    refused: list[Refused] = []
    for candidate in sorted((c for c in pool if not c.firm), key=_turn):
        outcome = _find_place(candidate, board, measure)
        if isinstance(outcome, Placed):
            board.put(outcome)
        else:
            refused.append(Refused(candidate, outcome))
    return Placement(tuple(board.placed), tuple(sorted(refused, key=_instant)))


def _turn(candidate: Candidate) -> tuple[int, int, str]:
    return -candidate.value, candidate.prefer_ms, candidate.id


def _instant(refused: Refused) -> tuple[int, str]:
    return refused.candidate.prefer_ms, refused.candidate.id


# Firm cues


def _place_firm(firm: list[Candidate], frame: Frame, measure: Measure) -> list[Placed]:
    """Give each firm cue its fullest wording that ends in time for the next."""
    ordered = sorted(firm, key=lambda c: (c.wordings[0].earliest_ms, c.id))
    placed: list[Placed] = []
    for number, candidate in enumerate(ordered):
        follower = ordered[number + 1] if number + 1 < len(ordered) else None
        placed.append(_firm_cue(candidate, follower, frame, measure))
    return placed


def _firm_cue(
    candidate: Candidate, follower: Candidate | None, frame: Frame, measure: Measure
) -> Placed:
    at_ms = candidate.wordings[0].earliest_ms
    limit = _firm_limit(candidate, follower, frame)
    if at_ms < LEAD_MS:
        raise _no_time_before(candidate)
    for wording in candidate.wordings:
        for speed in SPEEDS:
            line = Line(wording.text, speed)
            cue = Placed(candidate, line, at_ms, measure(line))
            if cue.end_ms <= limit:
                return cue
    raise _cannot_stand(candidate, follower, limit, measure)


def _firm_limit(candidate: Candidate, follower: Candidate | None, frame: Frame) -> int:
    """Return the instant by which a firm cue's clip must have ended."""
    if follower is None:
        return frame.duration_ms
    gap = 0 if _in_one_count(candidate, follower) else GAP_MS
    return follower.wordings[0].earliest_ms - LEAD_MS - gap


def _in_one_count(first: Candidate, second: Candidate) -> bool:
    return CueKind.BEAT in (first.kind, second.kind)


def _no_time_before(candidate: Candidate) -> ScheduleError:
    text = candidate.wordings[0].text
    return ScheduleError(
        f"{text!r} would have to be said before the track begins",
        where=candidate.where,
        remedy="Lengthen `lead_in`, or count in with fewer beats (`count_in`).",
    )


def _cannot_stand(
    candidate: Candidate, follower: Candidate | None, limit: int, measure: Measure
) -> ScheduleError:
    shortest = candidate.wordings[-1]
    room = limit - shortest.earliest_ms + LEAD_MS
    needs = measure(Line(shortest.text, SPEEDS[-1]))
    rival = repr(follower.wordings[0].text) if follower else "the end of the track"
    return ScheduleError(
        f"{shortest.text!r} lasts {needs / 1000:.2f} s, but {rival} leaves it "
        f"{max(room, 0) / 1000:.2f} s",
        where=candidate.where,
        remedy="Lengthen the segment, count in with fewer beats (`count_in`), "
        "or move the line of your own (`say`).",
    )


# Floating cues


def _find_place(candidate: Candidate, board: Board, measure: Measure) -> Placed | str:
    """Return the place of a floating cue, or the reason why it has none."""
    why = "no wording of it fits between the firm cues and the lines worth more"
    for wording in candidate.wordings:
        for speed in SPEEDS:
            line = Line(wording.text, speed)
            length = measure(line)
            onsets = _onsets(candidate, wording, length, board)
            onset = _nearest(onsets, candidate.prefer_ms)
            if onset is None:
                continue  # no room at this pace: perhaps a little faster
            why = _over_budget(board, onset, length)
            if not why:
                return Placed(candidate, line, onset, length)
            break  # faster would hardly help a budget; a shorter wording does
    return why


def _over_budget(board: Board, onset: int, length_ms: int) -> str:
    if board.total_ms + length_ms > board.frame.budget_ms:
        return "the session's talk share is reached"
    if not board.has_budget(onset, length_ms):
        return "its segment has as much talk as it may have"
    return ""


def _onsets(
    candidate: Candidate, wording: Wording, length_ms: int, board: Board
) -> list[tuple[int, int]]:
    spans = board.free_spans(wording.earliest_ms, wording.latest_ms, length_ms)
    if candidate.theme is None:
        return spans
    for onset in board.theme_onsets(candidate.theme):
        spans = _without(spans, onset - THEME_GAP_MS + 1, onset + THEME_GAP_MS - 1)
    return spans


def _without(spans: list[tuple[int, int]], low: int, high: int) -> list[tuple[int, int]]:
    """Return closed spans of whole milliseconds with [low, high] taken out."""
    kept: list[tuple[int, int]] = []
    for start, end in spans:
        if start < low:
            kept.append((start, min(end, low - 1)))
        if end > high:
            kept.append((max(start, high + 1), end))
    return kept


def _nearest(spans: list[tuple[int, int]], prefer_ms: int) -> int | None:
    """Return the onset nearest to the preferred one, the earlier of two as near."""
    choices = [min(max(prefer_ms, start), end) for start, end in spans]
    return min(choices, key=lambda at: (abs(at - prefer_ms), at), default=None)
