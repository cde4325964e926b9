"""What the steps do around the work: start the voice first, and bring in what they need after."""

from __future__ import annotations

import subprocess
import sys

import pytest

_SCIPY_FREE = """
import sys
import cuegen
{what}
heavy = sorted(name for name in sys.modules if name.partition(".")[0] in {{"scipy", "av"}})
print(heavy[:3])
"""


@pytest.mark.parametrize(
    "what",
    ["from cuegen import compile_sheet, render_track, verify_track", "import cuegen.voice.booth"],
)
def test_nothing_heavy_is_brought_in_before_a_voice_can_start(what: str) -> None:
    """SciPy takes a second or two to load, and so does the voice: side by side, not in turn."""
    code = _SCIPY_FREE.format(what=what)
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"
