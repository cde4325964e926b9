"""Small help with the parse tree of notation.lark: children by name, and errors at a node."""

from __future__ import annotations

from lark import Token, Tree

from cuegen.errors import PlanError
from cuegen.plan.source import Source

Node = Tree[Token] | Token

PART_NAMES = {"rates": "rate", "targets": "target", "efforts": "effort", "themes": "theme"}
"""What a coach calls the parts that follow a length."""


def span(node: Node) -> tuple[int, int]:
    """Return the start and end offset of a node."""
    if isinstance(node, Token):
        return node.start_pos or 0, node.end_pos or 0
    return node.meta.start_pos, node.meta.end_pos


def fault(source: Source, node: Node, problem: str, remedy: str = "") -> PlanError:
    """Return the error about the text of one node."""
    start, end = span(node)
    return source.error(problem, start, end, remedy)


def subtrees(node: Tree[Token]) -> list[Tree[Token]]:
    return [child for child in node.children if isinstance(child, Tree)]


def children(node: Tree[Token], name: str) -> list[Tree[Token]]:
    return [child for child in subtrees(node) if child.data == name]


def required(node: Tree[Token], name: str) -> Tree[Token]:
    return children(node, name)[0]


def text_of(node: Tree[Token]) -> str:
    return str(node.children[0])


def tokens(node: Tree[Token]) -> list[Token]:
    return [child for child in node.children if isinstance(child, Token)]


def token_of(node: Tree[Token]) -> Token:
    return tokens(node)[0]
