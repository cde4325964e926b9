"""Running the command line inside the test process: what it prints and how it leaves."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from cuegen.cli.main import main

EXAMPLES = Path(__file__).parents[2] / "examples"


@dataclass(frozen=True)
class Ran:
    code: int
    out: str
    err: str


@dataclass
class CommandLine:
    """`run("sheet", "plan.yaml")` in an empty folder of its own."""

    folder: Path
    monkeypatch: pytest.MonkeyPatch
    capsys: pytest.CaptureFixture[str]

    def run(self, *arguments: str) -> Ran:
        self.monkeypatch.setattr(sys, "argv", ["cuegen", *arguments])
        with pytest.raises(SystemExit) as left:
            main()
        out, err = self.capsys.readouterr()
        code = left.value.code
        assert isinstance(code, int), f"left with {code!r}"
        return Ran(code, out, err)

    def write(self, name: str, text: str) -> str:
        path = self.folder / name
        path.write_text(text, encoding="utf-8")
        return name

    def names(self) -> set[str]:
        """Return every file below the folder, hidden ones too."""
        return {str(p.relative_to(self.folder)) for p in self.folder.rglob("*") if p.is_file()}
