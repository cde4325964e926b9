"""cuegen: from a rowing session plan to a spoken coaching track that is right to the second.

Three steps, each usable alone from Python:

    sheet = cuegen.compile_sheet("plan.yaml")
    cuegen.render_track(sheet, "track.mp3")
    report = cuegen.verify_track("track.mp3", sheet)

They live in `cuegen.steps` and are brought in when first asked for, so that the
command line starts without loading voices and codecs.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from cuegen.steps import compile_sheet, render_track, verify_track

__version__ = "0.1.0"
__all__ = ["__version__", "compile_sheet", "render_track", "verify_track"]


def __getattr__(name: str) -> object:
    if name in __all__:
        from cuegen import steps

        return getattr(steps, name)
    raise AttributeError(f"module 'cuegen' has no attribute {name!r}")
