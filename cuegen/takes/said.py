"""Whether a take says its line: alignment against its own words, and against the other lines.

Conventions
    A fit is the mean log likelihood of a 10 ms frame: 0 the best there is,
    cuegen.hearing.words.LEAST_SCORE the least of a line that was read out plainly.

Rule
    What the aligner finds word by word is right. Otherwise it is asked which of all
    lines it hears. Another number or another line that is heard well is a fault. So is
    what fits no line at all, or has lost many of its words. In between lies doubt: an
    accent, a noise, one word said otherwise. Doubt is named and the take used, since
    its file says which line the coach meant; it is then checked by its sound alone.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from cuegen.hearing.words import LEAST_SCORE, Hearing, judge
from cuegen.takes.faults import FaultKind, TakeFault

Words = tuple[str, ...]

DOUBTFUL_SCORE = -3.4
"""The best that a wrong line of the natural voice reached (measured, cuegen.hearing.words)."""

MOST_LOST = 0.34
"""A take that has lost more of its words than this is not its line."""

_AGAIN = "Record the line again, or give the file the name of the line that it says."


@dataclass(frozen=True, slots=True)
class Said:
    """What was heard of a take.

    follows: word by word, so that the words of a track can be checked. first_ms, last_ms:
    where the first word begins and the last ends, by the aligner, in its window; None
    where it cannot tell. fit: of the words to the sound, None where they were not heard.
    """

    follows: bool
    fault: TakeFault | None = None
    doubt: str = ""
    first_ms: int | None = None
    last_ms: int | None = None
    fit: float | None = None


@dataclass(frozen=True, slots=True)
class OtherLine:
    """Another line that a take might say. name: how it is shown to the coach."""

    words: Words
    name: str


def unheard(why: str) -> Said:
    """Return what is known of a take whose words nobody can check."""
    return Said(follows=False, doubt=f"its words were not checked: {why}")


def said_of(
    own: Words, heard: Hearing, others: Sequence[OtherLine], pick: Callable[[], Hearing]
) -> Said:
    """Return what a take says. pick: hears which of all lines it is, asked only in doubt."""
    if heard.unknown:
        return unheard(f"no pronunciation is known of {', '.join(heard.unknown)}")
    judgement = judge(own, heard)
    if judgement.right:
        return _placed(heard, follows=True)
    picked = pick()
    other = next((one for one in others if one.words == picked.said), None)
    if other is not None and picked.said != own and picked.score >= LEAST_SCORE:
        problem = f"says {other.name} (fit {picked.score:.1f})"
        return Said(False, TakeFault(FaultKind.OTHER_LINE, problem, _AGAIN), fit=_fit(picked))
    if judgement.numbers_right is False:
        fault = TakeFault(FaultKind.OTHER_LINE, judgement.why, _AGAIN)
        return Said(False, fault, fit=_fit(heard))
    return _doubted(own, heard, picked)


def _doubted(own: Words, heard: Hearing, picked: Hearing) -> Said:
    """Return a doubt where a line may well be what is said, a fault where it is not."""
    judgement = judge(own, heard)
    lost = 1 - judgement.found / len(own)
    best = heard if heard.said == own else picked
    if best.said == own and best.score >= DOUBTFUL_SCORE:
        doubt = f"its words are hard to follow (fit {best.score:.1f}, {LEAST_SCORE} is plain)"
        return _placed(best, follows=False, doubt=doubt)
    if judgement.found and lost <= MOST_LOST and heard.score >= DOUBTFUL_SCORE:
        return _placed(heard, follows=False, doubt=judgement.why)
    fit = max(heard.score, picked.score)
    figure = f"fit {fit:.1f}, at least {DOUBTFUL_SCORE} is wanted" if math.isfinite(fit) else "none"
    problem = f"says something else ({figure}; {judgement.found} of {len(own)} words are heard)"
    return Said(False, TakeFault(FaultKind.OTHER_LINE, problem, _AGAIN), fit=_fit(heard))


def _placed(heard: Hearing, *, follows: bool, doubt: str = "") -> Said:
    first, last = heard.words[0], heard.words[-1]
    return Said(follows, None, doubt, first.start_ms, last.end_ms, _fit(heard))


def _fit(heard: Hearing) -> float | None:
    return heard.score if math.isfinite(heard.score) else None
