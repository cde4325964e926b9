"""A block: a run of weeks, the session of each, and how one week moves on to the next.

Conventions
    Weeks count from 1; week n begins `start` + 7 (n - 1) days. The session of a week is
    its plan with the week's changes, moved on by the week's rule (cuegen.plan.progress),
    so that everything that is known of plans holds for it too.

Contents
    BlockPlan, BlockRower, WeekPlan     a block file, read and checked
    week_session                        the session of a week, for a group or for one rower
    week_of                             which week a day, or a session's title, belongs to
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from cuegen.errors import BlockError, Where
from cuegen.plan.model import Audience, Block, Session
from cuegen.plan.nearest import nearest
from cuegen.plan.progress import Progress, own_numbers, progressed
from cuegen.plan.reading import check_said

DAYS_A_WEEK = 7


@dataclass(frozen=True, slots=True)
class BlockRower:
    """Who rows a block. say: how the voice speaks the name, where its spelling misleads."""

    name: str
    say: str | None = None


@dataclass(frozen=True, slots=True)
class WeekPlan:
    """A week. session: its plan with the week's changes, the rule not yet applied."""

    number: int
    session: Session
    progress: Progress = field(default_factory=Progress)
    where: Where = field(default_factory=Where, compare=False)


@dataclass(frozen=True, slots=True)
class BlockPlan:
    """A block file. start: the first day of week 1. rowers: whom personal tracks are for."""

    name: str
    start: date
    weeks: tuple[WeekPlan, ...]
    rowers: tuple[BlockRower, ...] = ()
    where: Where = field(default_factory=Where, compare=False)

    def week(self, number: int) -> WeekPlan:
        """Return a week by its number. Raises BlockError where the block has none such."""
        if not 1 <= number <= len(self.weeks):
            raise BlockError(
                f"the block {self.name!r} has no week {number}",
                where=Where(file=self.where.file),
                remedy=f"It has weeks 1 to {len(self.weeks)}.",
            )
        return self.weeks[number - 1]

    def first_day(self, number: int) -> date:
        """Return the day on which a week begins."""
        return self.start + timedelta(days=DAYS_A_WEEK * (number - 1))

    def rower(self, name: str) -> BlockRower:
        """Return a rower of the block by name, whatever its capitals; a guest stays a guest.

        Raises BlockError for a name that is nearly one of the block's: a slip would make
        a newcomer of somebody.
        """
        for one in self.rowers:
            if _key(one.name) == _key(name):
                return one
        near = nearest(name, [one.name for one in self.rowers])
        if near is not None:
            raise BlockError(
                "the block has no rower of that name",
                where=Where(file=self.where.file, text=name),
                remedy=f"Did you mean {near!r}? Add others under `rowers:`.",
            )
        return BlockRower(name)


def week_session(block: BlockPlan, number: int, rower: str | None = None) -> Session:
    """Return the session of a week: for the group, or for one rower with their own numbers.

    Its title carries the week, by which results find their way back to it. Raises
    BlockError for no such week or rower, PlanError where the rule cannot be applied.
    """
    week = block.week(number)
    session = replace(
        progressed(week.session, week.progress),
        title=week_title(block, number),
        block=Block(block.name, number),
    )
    check_said(session)  # a week may be shorter than the plan that its lines were written for
    if rower is None:
        return session
    who = block.rower(rower)
    if session.audience is Audience.GROUP:
        session = own_numbers(session)
    return replace(session, audience=Audience.SOLO, rower=who.name, rower_say=who.say)


def week_title(block: BlockPlan, number: int) -> str:
    """Return the title of a week's session: `Harbour build, week 2`."""
    return f"{block.week(number).session.title}, week {number}"


def week_of(block: BlockPlan, day: date, title: str | None = None) -> int | None:
    """Return the week of the block that was rowed, None where it was none of them.

    A title that names a week goes before the day: a session made up for late belongs
    to its own week.
    """
    if title is not None:
        for week in block.weeks:
            if _key(title) == _key(week_title(block, week.number)):
                return week.number
        if _key(title) not in {_key(week.session.title) for week in block.weeks}:
            return None
    number = (day - block.start).days // DAYS_A_WEEK + 1
    return number if 1 <= number <= len(block.weeks) else None


def _key(text: str) -> str:
    return " ".join(text.split()).casefold()
