"""What is read the quick way is the tree that the slow way gives."""

from __future__ import annotations

from pathlib import Path

import pytest
import ruamel.yaml

from cuegen.plan.tree import Node, read_tree
from cuegen.resources import templates_dir

BOOKS = sorted((templates_dir() / "phrases").rglob("*.yaml"))


def test_libyaml_is_here_to_be_compared() -> None:
    assert ruamel.yaml.__with_libyaml__


@pytest.mark.parametrize("path", BOOKS, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_a_book_of_ours_is_the_same_tree_by_libyaml(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert _root(text, ours=True) == _root(text, ours=False)


def test_a_text_with_marks_of_every_style_is_the_same_tree_by_libyaml() -> None:
    text = (
        "\ufeffa: 'q'\r\nb: \"d\\n\"\nc: |\n  é\n  x\nd: [1, {e: f}]\ng:\nh: >-\n  long\n  line\n"
    )
    assert _root(text, ours=True) == _root(text, ours=False)


def _root(text: str, *, ours: bool) -> Node:
    document = read_tree(text, ours=ours)
    assert document is not None
    return document.root
