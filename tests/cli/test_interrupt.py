"""Ctrl-C at any moment leaves no part file and no worker behind."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

PLAN = "voice: small\nsession: |\n  warm-up 5:00 r18\n  4 x 5:00 r20\n  cool-down 5:00\n"

# A shell starts background jobs deaf to Ctrl-C, and they pass that on: heed it again.
RUN = """\
import signal
signal.signal(signal.SIGINT, signal.default_int_handler)
from cuegen.cli.main import main
main()
"""


@pytest.mark.slow
@pytest.mark.parametrize("after_s", [0.3, 1.0, 1.6, 2.2, 3.0])
def test_an_interrupt_leaves_nothing_behind(tmp_path: Path, after_s: float) -> None:
    (tmp_path / "plan.yaml").write_text(PLAN, encoding="utf-8")
    marker = f"cuegen-test-{os.getpid()}-{after_s}"
    process = subprocess.Popen(
        [sys.executable, "-c", RUN, "track", "plan.yaml"],
        cwd=tmp_path,
        env=os.environ | {"CUEGEN_CACHE": str(tmp_path / "cache"), "CUEGEN_MARK": marker},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    time.sleep(after_s)
    finished = process.poll() is not None
    os.killpg(process.pid, signal.SIGINT)
    _, said = process.communicate(timeout=20)
    if not finished:
        assert process.returncode != 0
    left = [p.name for p in tmp_path.iterdir() if p.name not in {"cache", "plan.yaml"}]
    assert [name for name in left if ".part" in name] == []
    assert list((tmp_path / "cache").rglob("*.part*")) == []
    assert _workers_with(marker) == []
    if after_s > 1:  # earlier, Python itself may still be starting
        assert "Traceback" not in said


def _workers_with(marker: str) -> list[str]:
    """Return the processes that still carry the marker in their environment (Linux)."""
    deadline = time.monotonic() + 5
    while True:
        found = []
        for entry in Path("/proc").glob("[0-9]*/environ"):
            try:
                if marker.encode() in entry.read_bytes():
                    found.append(entry.parent.name)
            except OSError:
                continue
        if not found or time.monotonic() > deadline:
            return found
        time.sleep(0.1)
