"""The one table of what a phrase may mention, and of the filters that say it.

Conventions
    A field is a value, not yet words; a filter says it in the book's language:
    `{{ rate | rate }}`, `{{ left | time }}`. A field is unknown where the plan
    does not say it; a line that mentions it is then not used.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from cuegen.plan.model import Rate
from cuegen.script.spoken import MetreValue, SpokenForms, TimeValue

Value = str | int | float | Rate | TimeValue | MetreValue
Fields = dict[str, Value]


@dataclass(frozen=True, slots=True)
class FieldSpec:
    """filter: what says it, empty for a word. sample: stands in when a book is loaded."""

    filter: str
    sample: Value
    summary: str


FIELDS: dict[str, FieldSpec] = {
    "audience": FieldSpec("", "group", 'who listens: "group" or "solo"'),
    "rower": FieldSpec("", "Robin", "the rower's name"),
    "count": FieldSpec("count", 3, "which beat it is"),
    "rate": FieldSpec("rate", Rate(20, 20), "the segment's rate or band of rates"),
    "previous_rate": FieldSpec("rate", Rate(18, 18), "the rate of the rowing before"),
    "last_rate": FieldSpec("rate", Rate(22, 22), "the rate at which the split was held last time"),
    "last_change": FieldSpec("step", -1_000, "by how much the target lies off what was held"),
    "split": FieldSpec("split", 124_500, "the split to hold"),
    "watts": FieldSpec("watts", 210, "the watts to hold, where the plan gives watts"),
    "effort": FieldSpec("percent", 75, "the effort, per cent"),
    "seconds": FieldSpec("step", -3_000, "by how much the split changes"),
    "step": FieldSpec("", "up", 'against the piece before: "up", "same" or "down"'),
    "length": FieldSpec("time", TimeValue(240_000), "how long the segment (or session) is"),
    "left": FieldSpec("time", TimeValue(60_000), "the time left in the segment"),
    "metres": FieldSpec("metres", MetreValue(750), "the metres of the piece, or those left"),
    "strokes": FieldSpec("strokes", 80.0, "the strokes in the segment, a round figure"),
    "strokes_left": FieldSpec("strokes", 20.0, "the strokes in the time left, a round figure"),
    "piece": FieldSpec("count", 2, "which piece of work it is"),
    "pieces": FieldSpec("count", 4, "how many pieces of work there are"),
    "done": FieldSpec("count", 2, "how many pieces of work are done"),
    "ahead": FieldSpec("count", 2, "how many pieces of work are still to come"),
    "theme": FieldSpec("", "catch", "the technique theme"),
}


def filters(forms: SpokenForms) -> dict[str, Callable[[Any], str]]:
    """Return the filters that phrases may use, in one language."""
    return {
        "count": forms.count,
        "metres": forms.metres,
        "percent": forms.percent,
        "rate": forms.rate,
        "split": forms.split,
        "step": forms.step,
        "strokes": forms.strokes,
        "time": forms.time,
        "watts": forms.watts,
    }
