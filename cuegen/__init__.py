"""cuegen: from a rowing session plan to a spoken coaching track that is right to the second.

Three steps, each usable alone from Python:

    sheet = cuegen.compile_sheet("plan.yaml")
    cuegen.render_track(sheet, "track.mp3")
    report = cuegen.verify_track("track.mp3", sheet)
"""

from __future__ import annotations

__version__ = "0.1.0"
