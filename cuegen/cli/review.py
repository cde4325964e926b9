"""`cuegen review PLAN`: what was asked and what was rowed, from the results log."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from cuegen.cli.log_options import LogOption, log_path
from cuegen.cli.made import note_made
from cuegen.cli.terminal import JsonOption, ResultsOption, RowerOption, WeekOption

if TYPE_CHECKING:
    from cuegen.plan.model import Session
    from cuegen.targets.reviewed import Review
    from cuegen.targets.rowed import Results

OUT_SUFFIXES = (".html", ".txt", ".json")


def review(
    plan: Annotated[Path, typer.Argument(help="The plan or block that was rowed (.yaml).")],
    *,
    week: WeekOption = None,
    rower: RowerOption = None,
    day: Annotated[
        str | None,
        typer.Option("--day", help="The day it was rowed; otherwise the newest of that title."),
    ] = None,
    log: LogOption = None,
    results: ResultsOption = None,
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", help="Write the review too: .html, .txt or .json."),
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Say how a session went: asked against rowed, how evenly, what each step was worth.

    What was rowed comes from the log. Targets such as @last are worked out from what
    was held before that day only: from --results, or else from the log as well.
    """
    from cuegen.cli.log_typed import day_of
    from cuegen.occasion import load_occasion, load_session

    check_out(out)
    held: Path | Results | None = results
    session = load_session(plan, week)
    path = log_path(log)
    if week is not None:
        # Of a block, what was held before that week counts, on whatever day it was rowed.
        what = load_occasion(plan, week=week, results=results or path, rower=_named(rower))
        session, held = what.session, what.results
    when = None if day is None else day_of("--day", day)
    found = review_session(session, rower=rower, day=when, log=path, results=held)
    show_review(found, out, as_json=as_json)


def review_session(
    session: Session,
    *,
    rower: str | None,
    day: date | None,
    log: Path,
    results: Path | Results | None = None,
) -> Review:
    """Return the review of a session that one rower rowed, from the results log.

    rower: the session's own if not given. day: the newest on which a session of its
    title was rowed if not given. results: what its targets come from, a CSV or a log,
    of which only earlier days count, or Results that are taken as they are; the log
    itself if not given. Raises LogError, ResultsError, PlanError.
    """
    from cuegen.log.rowed_session import other_title, rowed_segment, rowed_session
    from cuegen.log.store import open_log
    from cuegen.occasion import load_held
    from cuegen.targets.resolve import outline
    from cuegen.targets.review import review as review_of

    name = _named(rower or session.rower)
    with open_log(log, create=False) as book:
        entries = rowed_session(book.entries(name), session.title, day, file=str(log))
        held = book.results() if results is None else results
    rowed_on = entries[0].day
    if isinstance(held, Path):
        held = load_held(held)
    if held is not results:  # a caller's own Results are taken as they are
        held = held.before(rowed_on)
    laid = outline(session, held, rower=name, day=rowed_on)
    return review_of(
        laid,
        [rowed_segment(entry) for entry in entries],
        rower=entries[0].rower,
        day=rowed_on,
        logged_as=other_title(entries[0], session.title),
    )


def show_review(review: Review, out: Path | None, *, as_json: bool) -> None:
    """Print a review, and write it to a file by the suffix of its name."""
    from cuegen.cli.review_show import print_json, print_review, save_review

    if out is not None:
        save_review(review, out)
        note_made([out], review.rower)
    if as_json:
        print_json(review)
        return
    print_review(review)
    if out is not None:
        typer.echo(f"{out}: the review of {review.rower}, {review.day}")


def check_out(out: Path | None) -> None:
    """Refuse a name of which no review is written, before any work."""
    if out is not None and out.suffix.lower() not in OUT_SUFFIXES:
        known = ", ".join(OUT_SUFFIXES)
        raise typer.BadParameter(f"a review is written as {known}, not {out.suffix or 'without'}")


def _named(rower: str | None) -> str:
    from cuegen.errors import LogError

    if rower is None:
        raise LogError(
            "whose session it was is not said", remedy='Name the rower: --rower "Maren Holt".'
        )
    return rower
