"""Sharing out a session's talk among its stretches, where there is more to say than its share.

Each stretch gets talk in proportion to its length and its weight, but never more
than it can use; what one does not use goes to the others. The opening and the
closing words have weight 0: they are said whole.
"""

from __future__ import annotations

from cuegen.schedule.rules import Frame


def shared_out(
    frame: Frame, firm_ms: tuple[int, ...], wanted_ms: tuple[int, ...]
) -> tuple[int, ...]:
    """Return the talk in ms for the floating cues of each stretch.

    firm_ms: talk of the firm cues in each stretch, which counts towards its part.
    wanted_ms: what the floating cues would use there without a limit.
    """
    budget = frame.budget_ms
    low, high = 0, 1 << 23
    while low < high:  # the greatest level at which the sum stays within the budget
        level = (low + high + 1) // 2
        if sum(_talk(frame, firm_ms, wanted_ms, level)) <= budget:
            low = level
        else:
            high = level - 1
    talk = _talk(frame, firm_ms, wanted_ms, low)
    return tuple(all_ - firm for all_, firm in zip(talk, firm_ms, strict=True))


def _talk(
    frame: Frame, firm_ms: tuple[int, ...], wanted_ms: tuple[int, ...], level: int
) -> list[int]:
    """Return all talk of each stretch at a level, in 2**20ths of its length and weight."""
    return [
        max(
            firm,
            firm + wanted
            if stretch.weight == 0
            else min(
                firm + wanted,
                (stretch.end_ms - stretch.start_ms) * stretch.weight * level // (100 << 20),
            ),
        )
        for stretch, firm, wanted in zip(frame.stretches, firm_ms, wanted_ms, strict=True)
    ]
