"""How large anything in a plan may be. Beyond these a plan is a slip of the pen, not a session.

Conventions
    Milliseconds, metres, strokes per minute, watts, milliseconds per 500 m. All
    limits are our own judgement of what nobody rows (common practice, no source),
    except where a line says otherwise; advice within the limits (a rate outside
    14 to 40, no warm-up) is given by the plan check, not here.
"""

from __future__ import annotations

from cuegen.clock import MS_PER_H
from cuegen.plan.model import Distance, Length

MAX_SESSION_MS = 12 * MS_PER_H
MIN_DISTANCE_M = 100
"""Fewer metres than this are asked about: `5m` is nearly always five minutes."""

REFERENCE_MS_PER_M = 300
"""2:30 per 500 m: metres count towards the 12 hours as if rowed this gently."""

MAX_REPEATS = 200
MAX_SEGMENTS = 1_000
MAX_RATE = 60
MAX_EFFORT_PCT = 100
MIN_SPLIT_MS = 50_000
MAX_SPLIT_MS = 10 * 60_000
MAX_WATTS = 2_000
MAX_STEP_MS = 60_000
MAX_LAST_OFFSET = 20

MAX_FILE_CHARS = 1_000_000
MAX_SESSION_CHARS = 200_000
MAX_LINE_CHARS = 4_000
MAX_SESSION_LINES = 2_000
MAX_TEXT_CHARS = 500
MAX_TITLE_CHARS = 200


def reckoned_ms(length: Length) -> int:
    """Return what a length counts towards the longest session, in milliseconds."""
    if isinstance(length, Distance):
        return length.metres * REFERENCE_MS_PER_M
    return length.ms
