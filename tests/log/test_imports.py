"""The log knows targets and what comes before them; no stage knows the log."""

from __future__ import annotations

import ast
from pathlib import Path

CUEGEN = Path(__file__).parents[2] / "cuegen"
KNOWN = {"cells", "clock", "closing", "errors", "files", "log", "plan", "targets"}


def imported(folder: str) -> set[str]:
    """Return which parts of cuegen the modules of a folder import, late ones included."""
    found: set[str] = set()
    for path in (CUEGEN / folder).rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("cuegen."):
                found.add((node.module or "").split(".")[1])
    return found


def test_the_log_knows_only_what_comes_before_it() -> None:
    assert imported("log") <= KNOWN


def test_no_stage_knows_the_log() -> None:
    folders = {path.name for path in CUEGEN.iterdir() if (path / "__init__.py").exists()}
    assert len(folders) > 8
    assert [name for name in sorted(folders - {"log", "cli"}) if "log" in imported(name)] == []
