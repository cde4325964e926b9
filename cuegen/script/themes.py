"""Technique themes, each with the band of rates it belongs to.

shared/themes.yaml is the table; a phrase book may add themes of its own. Which
theme belongs to which rate is common practice, no source: low rates ask for a
patient recovery and ratio, higher ones for connection, posture and a quick catch.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from cuegen.errors import PhraseError, Where
from cuegen.files import read_text
from cuegen.plan.model import Rate
from cuegen.plan.tree import Document, Node
from cuegen.resources import shared_dir
from cuegen.script.yamltree import known_mapping, mapping, read_document, scalar

_BAND = re.compile(r"(\d{1,2})\s*-\s*(\d{1,2})")
_NAME = re.compile(r"[^\W\d_]+(?:-[^\W\d_]+)*")


@dataclass(frozen=True, slots=True)
class Theme:
    """rates: the band in which the theme is taught when a plan names none."""

    name: str
    rates: Rate
    summary: str = ""

    def suits(self, rate: Rate | None) -> bool:
        """Return whether the theme belongs to a rate; to none, all do."""
        return rate is None or self.rates.low <= rate.middle <= self.rates.high


def load_themes() -> tuple[Theme, ...]:
    """Return the themes of shared/themes.yaml, in its order."""
    path = shared_dir() / "themes.yaml"
    return read_themes(read_text(path, PhraseError, "list of themes"), path.name)


def read_themes(text: str, file: str) -> tuple[Theme, ...]:
    """Return the themes of a text whose one name is `themes`. Raises PhraseError."""
    document = read_document(text, file, PhraseError)
    top = known_mapping(document.root, document, "a list of themes", ("themes",))
    return themes_of(top["themes"][0], document) if top else ()


def themes_of(node: Node, document: Document) -> tuple[Theme, ...]:
    """Return the themes under a `themes:` of YAML. Raises PhraseError."""
    return tuple(
        _theme(name, value, where, document)
        for name, value, where in mapping(node, document, "themes")
    )


def band_of(node: Node, document: Document) -> Rate:
    """Return a band of rates such as 16-20. Raises PhraseError."""
    text = scalar(node, document, "a band of rates")
    found = _BAND.fullmatch(text)
    if found is None or int(found[1]) > int(found[2]):
        raise PhraseError(
            "this is no band of rates",
            where=document.where(node),
            remedy="Write the lower and the higher one: 16-20.",
        )
    return Rate(int(found[1]), int(found[2]))


def _theme(name: str, node: Node, where: Where, document: Document) -> Theme:
    if not _NAME.fullmatch(name):
        raise PhraseError(
            "a theme's name is letters, with hyphens between", where=where, remedy="Rename it."
        )
    parts = known_mapping(node, document, f"the theme {name!r}", ("rates", "summary"))
    if "rates" not in parts:
        raise PhraseError(
            f"the theme {name!r} has no rates", where=where, remedy="Add rates: 16-20."
        )
    summary = scalar(parts["summary"][0], document, "a summary") if "summary" in parts else ""
    return Theme(name, band_of(parts["rates"][0], document), summary)
