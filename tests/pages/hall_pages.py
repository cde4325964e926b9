"""Hall pages for the tests: the sample sheet's, silent or with a track made here by PyAV."""

from __future__ import annotations

from pathlib import Path

import av
import numpy as np

from cuegen.pages.hall import save_hall_page
from cuegen.pages.hall_sound import sound_beside, sound_inside
from cuegen.schedule.cuesheet import Cue, CueSheet
from tests.sheet.samples import sample_sheet

RATE = 48_000


def sweep(seconds: np.ndarray) -> np.ndarray:
    """Return a tone that rises by 15 Hz a second from 400 Hz: its pitch tells the instant."""
    return 0.1 * np.sin(2 * np.pi * (400 * seconds + 7.5 * seconds**2))


def write_track(path: Path, length_ms: int) -> Path:
    """Write a track of so many milliseconds, as Opus in Ogg."""
    with av.open(str(path), "w", format="ogg") as file:
        stream = file.add_stream("libopus", rate=RATE, layout="mono")
        stream.bit_rate = 24_000
        for start in range(0, RATE * length_ms // 1000, RATE):
            end = min(start + RATE, RATE * length_ms // 1000)
            tone = sweep(np.arange(start, end) / RATE).astype(np.float32)
            frame = av.AudioFrame.from_ndarray(tone[None, :], format="flt", layout="mono")
            frame.sample_rate, frame.pts = RATE, start
            file.mux(stream.encode(frame))
        file.mux(stream.encode(None))
    return path


def silent_page(folder: Path, sheet: CueSheet | None = None) -> Path:
    """Write a page that keeps time by itself."""
    path = folder / "hall.html"
    save_hall_page(sheet or sample_sheet(), path)
    return path


def page_with_track(folder: Path, sheet: CueSheet | None = None, *, inside: bool = True) -> Path:
    """Write a page with its track, inside or beside."""
    sheet = sheet or sample_sheet()
    track = write_track(folder / "track.opus", sheet.duration_ms)
    path = folder / "hall.html"
    sound = sound_inside(track, sheet) if inside else sound_beside(track, sheet, path)
    save_hall_page(sheet, path, sound)
    return path


def short_sheet() -> CueSheet:
    """Return a sheet of three seconds, whole in itself, whose track is soon made."""
    sheet = sample_sheet()
    segment = sheet.segments[1].model_copy(update={"start_ms": 0, "end_ms": 2_500})
    line = sheet.cues[10].model_copy(
        update={"at_ms": 510, "start_ms": 500, "end_ms": 1_500, "segment": 0}
    )
    return sheet.model_copy(
        update={"duration_ms": 3_000, "lead_in_ms": 0, "row_end_ms": 2_500, "early_ms": 0,
                "late_ms": 0, "segments": (segment,), "cues": (line,), "quiet": (),
                "left_out": ()}
    )  # fmt: skip


def line_at(sheet: CueSheet, ms: float) -> str:
    """Return what is spoken at an instant by the sheet, or nothing."""
    spoken: list[Cue] = [cue for cue in sheet.cues if cue.start_ms <= ms < cue.end_ms]
    return spoken[0].text if spoken else ""


LISTENING = """
const track = document.getElementById("track");
const graph = new AudioContext();
await graph.resume();
const analyser = new AnalyserNode(graph, { fftSize: 16384, smoothingTimeConstant: 0 });
graph.createMediaElementSource(track).connect(analyser).connect(graph.destination);
const bins = new Float32Array(analyser.frequencyBinCount);
function heardAt() {
  analyser.getFloatFrequencyData(bins);
  const k = bins.indexOf(Math.max(...bins));
  const [a, b, c] = [bins[k - 1], bins[k], bins[k + 1]];
  const peak = (k + (a - c) / (a - 2 * b + c) / 2) * graph.sampleRate / 16384;
  return (peak - 400) / 15;
}
"""
"""Which instant of `page_with_track`'s tone is heard, in seconds: it rises by 15 Hz a second
from 400 Hz. The window is 0.34 s long, so that its middle lies 0.17 s before what is heard now."""
