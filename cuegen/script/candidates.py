"""Outline and phrase book -> Script: everything that is worth saying in a session.

Pure and deterministic: the same outline and book give the same script. Firm cues
take their words first, so that floating ones never use those up.
"""

from __future__ import annotations

from collections.abc import Iterator

from cuegen.errors import PhraseError
from cuegen.script.arc import arc_cues
from cuegen.script.book import PhraseBook
from cuegen.script.boundaries import boundaries
from cuegen.script.candidate import Candidate, Script
from cuegen.script.checks import check_cues
from cuegen.script.coaching import coaching_cues
from cuegen.script.desk import Desk
from cuegen.script.edits import apply_edits, pinned_instants
from cuegen.script.facts import Facts
from cuegen.script.firm import firm_cues
from cuegen.script.opening import closing_cues, expected_ends, opening_cues
from cuegen.script.picker import Picker
from cuegen.script.quiet import plan_quiet, quiet_cues
from cuegen.script.spoken import base_language
from cuegen.targets.outline import Outline

__all__ = ["Script", "build_candidates"]


def build_candidates(
    outline: Outline, book: PhraseBook, heard: frozenset[str] = frozenset()
) -> Script:
    """Return the candidate cues of a session, in order of the instants that suit them.

    heard: texts of earlier sessions, as `cuegen.script.picker.same_words` gives them,
    that floating cues do not repeat.

    Raises PhraseError for a book in another language than the session's, or one
    with nothing to say at a firm cue; PlanError for a theme the book does not
    teach and for a line of the coach's own that falls outside the session.
    """
    if base_language(book.language) != base_language(outline.session.language):
        raise PhraseError(
            f"the phrase book {book.name!r} is in {book.language!r}, "
            f"the session in {outline.session.language!r}",
            where=outline.session.where,
            remedy="Name a book in that language with `phrase_book`.",
        )
    facts = Facts(outline)
    desk = Desk(outline, book, facts, Picker(book, outline.session, heard), boundaries(outline))
    firm = list(firm_cues(desk))
    firm_ms = [cue.prefer_ms for cue in firm] + pinned_instants(outline)
    plan_quiet(desk, firm_ms)
    candidates = [*firm, *quiet_cues(desk, firm_ms), *_coaching(desk)]
    candidates.sort(key=lambda c: (c.prefer_ms, c.id))
    desk.note_unsaid()
    return Script(
        apply_edits(tuple(candidates), outline),
        tuple(desk.notes),
        desk.quiet,
        sum(desk.unsaid.values()),
    )


def _coaching(desk: Desk) -> Iterator[Candidate]:
    for stage in (
        opening_cues,
        closing_cues,
        expected_ends,
        coaching_cues,
        check_cues,
        arc_cues,
    ):
        yield from stage(desk)
