from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.quick_voice import open_quick_booth
from tests.cli.running import CommandLine


@pytest.fixture(autouse=True)
def own_log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """No test touches the log, or the notes beside it, of whoever runs it."""
    path = tmp_path / "log.db"
    monkeypatch.setenv("CUEGEN_LOG", str(path))
    return path


@pytest.fixture
def cuegen(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> CommandLine:
    """The command line, in a folder of its own; the voice cache lies elsewhere."""
    folder = tmp_path / "here"
    folder.mkdir()
    monkeypatch.chdir(folder)
    return CommandLine(folder, monkeypatch, capsys)


@pytest.fixture(autouse=True)
def quick_voice(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Commands run with a voice that never speaks, but where a test is marked `spoken`."""
    if request.node.get_closest_marker("spoken") is None:
        monkeypatch.setattr("cuegen.steps.open_booth", open_quick_booth)
        monkeypatch.setattr("cuegen.voice.booth.open_booth", open_quick_booth)
