"""What is to be made: the session of a plan file, or a week of a block, for whom and when.

Conventions
    The edge where plans, blocks and results are read; what comes of it is pure. A block
    looks its rowers up in the results log of this user unless another file is named.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from cuegen.errors import BlockError, PlanError, Where
from cuegen.files import read_text
from cuegen.log import default_log_path, is_log, open_log
from cuegen.plan.block import BlockPlan, week_session
from cuegen.plan.block_reading import is_block, load_block
from cuegen.plan.model import Session
from cuegen.plan.reading import load_plan
from cuegen.targets.earlier import results_before
from cuegen.targets.outline import Outline
from cuegen.targets.resolve import outline
from cuegen.targets.results import Results, load_results


@dataclass(frozen=True, slots=True)
class Occasion:
    """A session, and what its targets come from.

    rower: before the plan's own. day: of the session, None where the plan does not say.
    week: with its block, None for a plan alone.
    """

    session: Session
    results: Results | None = None
    rower: str | None = None
    day: date | None = None
    block: BlockPlan | None = None
    week: int | None = None

    def outline(self) -> Outline:
        """Return the session on the clock. Raises PlanError."""
        return outline(self.session, self.results, rower=self.rower, day=self.day)


def load_occasion(
    path: Path,
    *,
    week: int | None = None,
    results: Path | str | Results | None = None,
    rower: str | None = None,
) -> Occasion:
    """Return what a file and the options beside it ask for. Raises CuegenError."""
    block = block_in(path)
    if block is None:
        if week is not None:
            raise PlanError(
                "this plan is one session; it has no weeks",
                where=Where(file=str(path)),
                remedy="Leave --week out, or name a block file.",
            )
        return _of_plan(load_plan(path), results, rower)
    if week is None:
        raise BlockError(
            "this is a block of weeks",
            where=Where(file=str(path)),
            remedy=f"Say which one with --week, 1 to {len(block.weeks)}.",
        )
    held = given(results if results is not None else own_log(), rower)
    return occasion_of(block, week, held, rower)


def _of_plan(session: Session, results: Path | str | Results | None, rower: str | None) -> Occasion:
    return Occasion(session, given(results, rower or session.rower), rower)


def load_session(path: Path, week: int | None = None) -> Session:
    """Return the session of a plan, or that of a block's week for the group. Raises CuegenError."""
    return load_occasion(path, week=week, results=Results(())).session


def occasion_of(
    block: BlockPlan, week: int, results: Results | None, rower: str | None = None
) -> Occasion:
    """Return a week of a block, for the group or for one rower, as it stood before it was rowed."""
    session = week_session(block, week, rower)
    held = None if results is None else results_before(block, week, results)
    return Occasion(session, held, session.rower, block.first_day(week), block, week)


def block_in(path: Path) -> BlockPlan | None:
    """Return the block of a file, None where it is a plan, or nothing that could be read."""
    try:
        text = read_text(path, PlanError, "plan")
    except PlanError:
        return None  # load_plan says what is wrong with it
    return load_block(path) if is_block(text) else None


def given(results: Path | str | Results | None, rower: str | None = None) -> Results | None:
    """Return results, read where they are a file's. Raises ResultsError, LogError."""
    if results is None or isinstance(results, Results):
        return results
    return load_held(results, rower)


def load_held(results: Path | str, rower: str | None = None) -> Results:
    """Return what was held, from a results file or a results log.

    rower: of a log, only theirs if they have any. Raises ResultsError, LogError.
    """
    path = Path(results)
    if not is_log(path):
        return load_results(path)
    with open_log(path, create=False) as log:
        return log.results(rower)


def own_log() -> Path | None:
    """Return the results log of this user, None where there is none yet."""
    path = default_log_path()
    return path if path.exists() else None
