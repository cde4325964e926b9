"""Which of a rower's results are those of a session, to be reviewed.

Conventions
    Titles are one and the same whatever their capitals and spaces. Only pieces of work
    count, in the order they were logged.

Contents
    rowed_session   the results of one session, rowed on one day
    other_title     under which title it was logged, if not the plan's
    rowed_segment   a result as cuegen.targets.review takes it
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from cuegen.errors import LogError, Where
from cuegen.log.entry import LogEntry
from cuegen.log.rows import key_of
from cuegen.plan.model import SEGMENT_KINDS
from cuegen.plan.nearest import nearest
from cuegen.targets.placing import RowedSegment


def rowed_session(
    entries: Iterable[LogEntry], title: str, day: date | None = None, *, file: str | None = None
) -> tuple[LogEntry, ...]:
    """Return the results of a session out of those of one rower. Raises LogError for none.

    Without a day: of the newest one on which a session of that title was rowed. With
    one: those of that title on that day, or else all of that day if they are of one
    session, whatever it was called. file is named in errors.
    """
    work = [one for one in entries if SEGMENT_KINDS[one.kind].is_work]
    same = [one for one in work if other_title(one, title) is None]
    if day is None:
        if not same:
            raise _unknown_title(title, work, file)
        newest = max(one.day for one in same)
        return tuple(one for one in same if one.day == newest)
    that_day = [one for one in work if one.day == day]
    return tuple([one for one in same if one.day == day] or _only_session(that_day, day, file))


def _only_session(entries: Sequence[LogEntry], day: date, file: str | None) -> Sequence[LogEntry]:
    where = Where(file=file, text=day.isoformat())
    if not entries:
        raise LogError(
            "there are no results of this rower on that day",
            where=where,
            remedy="`cuegen log list --rower NAME` shows the days.",
        )
    titles = {key_of(one.session or ""): one.session for one in entries}
    if len(titles) > 1:
        known = ", ".join(repr(one) if one else "one without a title" for one in titles.values())
        raise LogError(
            "several sessions were rowed on that day, and none has the plan's title",
            where=where,
            remedy=f"They are {known}. `cuegen log correct ID --session` names one anew.",
        )
    return entries


def _unknown_title(title: str, work: Iterable[LogEntry], file: str | None) -> LogError:
    days = {one.session: one.day for one in work if one.session}
    near = nearest(title, days)
    remedy = "Name the day it was rowed with --day, or log it with `cuegen log add --plan`."
    if near is not None:
        remedy = f"Did you mean {near!r}, last rowed on {days[near]}? Then add --day {days[near]}."
    return LogError(
        "there are no results of this rower in a session of that title",
        where=Where(file=file, text=title),
        remedy=remedy,
    )


def other_title(entry: LogEntry, title: str) -> str | None:
    """Return a result's title, empty for none, or None where it is the one that is given."""
    logged_as = entry.session or ""
    return None if key_of(logged_as) == key_of(title) else logged_as


def rowed_segment(entry: LogEntry) -> RowedSegment:
    """Return a result as a review takes it."""
    return RowedSegment(
        segment=entry.segment,
        rate=entry.rate,
        split_ms=entry.split_ms,
        parts_ms=entry.parts_ms,
        metres=entry.metres,
        heart_rate=entry.heart_rate,
        felt_pct=entry.felt_pct,
        duration_ms=entry.duration_ms,
        label=entry.label,
    )
