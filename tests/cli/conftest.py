from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.running import CommandLine


@pytest.fixture
def cuegen(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> CommandLine:
    """The command line, in a folder of its own; the voice cache lies elsewhere."""
    folder = tmp_path / "here"
    folder.mkdir()
    monkeypatch.chdir(folder)
    return CommandLine(folder, monkeypatch, capsys)
