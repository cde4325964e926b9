"""Books for the tests whose lines say which kind, case and theme they were written for.

So that a test can tell what was asked of a book from what is said, whatever the words
of the books that come with cuegen.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from cuegen.script.book import PhraseBook
from cuegen.script.kinds import TECHNIQUE_CASES, CueKind
from cuegen.script.phrasebook import read_book
from tests.script.outlines import plain

TREES = (
    "alder", "ash", "aspen", "beech", "birch", "box", "cedar", "cherry", "elder", "elm",
    "fir", "hazel", "holly", "juniper", "larch", "lime", "maple", "oak", "olive", "pear",
    "pine", "plane", "plum", "poplar", "rowan", "spruce", "willow", "yew",
)  # fmt: skip
"""Words to tell lines apart by."""


def taught(themes: Iterable[str], *, lines: int = len(TREES)) -> PhraseBook:
    """Return a book of technique alone: "explain catch oak", as many lines of each as asked."""
    groups = (
        {
            "when": case,
            "theme": theme,
            "lines": [f"{case} {theme} {tree}" for tree in TREES[:lines]],
        }
        for theme in themes
        for case in TECHNIQUE_CASES
    )
    return replaced(CueKind.TECHNIQUE, groups)


def cased(kind: CueKind, cases: Iterable[str], *, lines: int = len(TREES)) -> PhraseBook:
    """Return the plain book with lines of one kind that name their case: "calls oak"."""
    groups = (
        {"when": case, "lines": [f"{case} {tree}" for tree in TREES[:lines]]} for case in cases
    )
    return replaced(kind, groups)


def replaced(
    kind: CueKind, groups: Iterable[Mapping[str, object]], base: PhraseBook | None = None
) -> PhraseBook:
    """Return a book, the plain one by default, with other lines of one kind."""
    written = "".join(f"    - {_flow(group)}\n" for group in groups)
    text = f"extends: plain\nreplace: [{kind}]\nlines:\n  {kind}:\n{written}"
    return read_book(text, "marked.yaml", base=base or plain())


def _flow(group: Mapping[str, object]) -> str:
    """Return a group as YAML on one row."""
    parts = []
    for key, value in group.items():
        said = f"[{', '.join(map(_quoted, value))}]" if isinstance(value, list) else str(value)
        parts.append(f"{key}: {said}")
    return "{" + ", ".join(parts) + "}"


def _quoted(text: object) -> str:
    return f'"{text}"'
