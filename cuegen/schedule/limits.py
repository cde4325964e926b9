"""Whether a session's talk share was met, and if not, what stood in the way.

The share is met where the voice speaks within TOLERANCE of it. Short of that there
was nothing left to say: the phrase book had no fresh words, segments had reached
their caps, or the windows of all cues worth saying were used. Beyond it, the firm
cues and the opening alone are more.
"""

from __future__ import annotations

from cuegen.schedule.place import Placement
from cuegen.schedule.rules import Frame

TOLERANCE = 0.03


def talk_limit(placement: Placement, frame: Frame, asked: float, unsaid: int) -> str:
    """Return why the talk share was not met, in words for the coach; empty where it was."""
    talk_ms = sum(cue.length_ms for cue in placement.placed)
    reached = talk_ms / frame.duration_ms
    if abs(reached - asked) <= TOLERANCE:
        return ""
    said = f"The voice speaks {100 * reached:.0f} % of the time; {100 * asked:.0f} % was asked for"
    if reached > asked:
        return f"{said}. {_above(placement, frame)}"
    reasons = list(_below(placement, frame, unsaid))
    return f"{said}. {' '.join(reasons)}"


def _above(placement: Placement, frame: Frame) -> str:
    firm_ms = sum(cue.length_ms for cue in placement.placed if cue.candidate.firm)
    share = 100 * firm_ms / frame.duration_ms
    return (
        f"The calls that must be heard take {share:.0f} %; the opening and the close come on top."
    )


def _below(placement: Placement, frame: Frame, unsaid: int) -> list[str]:
    """Return what kept the talk short of its share."""
    reasons = []
    if unsaid:
        cues = "one cue" if unsaid == 1 else f"{unsaid} cues"
        reasons.append(f"The phrase book has no fresh words for {cues}.")
    capped = _at_cap(placement, frame)
    if capped:
        segments = "One segment has" if capped == 1 else f"{capped} segments have"
        reasons.append(f"{segments} as much talk as one may have.")
    quiet_ms = sum(end - start for start, end in frame.quiet)
    if quiet_ms:
        reasons.append(f"Spans of quiet take {100 * quiet_ms / frame.duration_ms:.0f} %.")
    reasons.append("All else that is worth saying is said where it belongs.")
    return reasons


def _at_cap(placement: Placement, frame: Frame) -> int:
    """Return how many segments left cues out because their own talk was spent."""
    spent = [0] * len(frame.stretches)
    for cue in placement.placed:
        spent[frame.stretch_at(cue.at_ms)] += cue.length_ms
    lost = {frame.stretch_at(each.candidate.prefer_ms) for each in placement.refused}
    shortest_ms = 1_500
    return sum(
        stretch.weight > 0 and number in lost and stretch.budget_ms - spent[number] < shortest_ms
        for number, stretch in enumerate(frame.stretches)
    )
