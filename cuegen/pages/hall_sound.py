"""The sound of a hall page: found beside the sheet, checked against it, inside or beside.

A page with another session's track would show one thing while another is heard. So a
track must be as long as the sheet, and where its own sheet lies beside it (as
`cuegen track` leaves it), every line must have the same instant and words.
"""

from __future__ import annotations

import base64
import os
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from cuegen.clock import ms_at
from cuegen.dsp.decode import open_audio
from cuegen.errors import AudioError, OutputError, SheetError, Where
from cuegen.mix.formats import FORMATS, find_format
from cuegen.schedule.cuesheet import CueSheet
from cuegen.sheet.formats import load_sheet
from cuegen.verify.report import CHECKS, Check

MOST_OFF_MS = CHECKS[Check.DURATION].limit
"""By how much a track's length may differ from its sheet's, as in a listening report."""

_TYPES = {
    ".mp3": "audio/mpeg",
    ".m4a": "audio/mp4",
    ".opus": "audio/ogg",
    ".flac": "audio/flac",
    ".wav": "audio/wav",
}
"""Media types (IANA registry; `audio/wav` is what browsers know, common practice)."""


@dataclass(frozen=True, slots=True)
class HallSound:
    """What a page plays. source: an address or a data URI; media: what its policy allows."""

    source: str
    media: str
    name: str

    @property
    def is_beside(self) -> bool:
        return not self.source.startswith("data:")


def find_track(source: Path) -> Path | None:
    """Return the track that lies beside a sheet under its name, the usual format first."""
    stem = source.name.removesuffix(source.suffix).removesuffix(".sheet")
    tracks = (source.with_name(stem + suffix) for suffix in FORMATS)
    return next((track for track in tracks if track.is_file()), None)


def sound_beside(track: Path, sheet: CueSheet, page: Path) -> HallSound:
    """Return a track that stays a file of its own, by its address from the page.

    Raises AudioError where it is not the sheet's track, OutputError for a suffix that
    is no track's or a track on another drive than the page.
    """
    check_track(track, sheet)
    try:
        address = os.path.relpath(track.resolve(), page.resolve().parent)
    except ValueError:  # Windows: there is no way from one drive to another
        raise OutputError(
            "a page cannot play a track from another drive",
            where=Where(file=str(page)),
            remedy="Write it beside the track, or put the track inside with --embed-audio.",
        ) from None
    # Without the "./" a name like "a:b.mp3" would be taken for a scheme.
    return HallSound("./" + quote(Path(address).as_posix()), "'self' file:", track.name)


def sound_inside(track: Path, sheet: CueSheet) -> HallSound:
    """Return a track as a data URI (RFC 2397), to lie in the page. Raises as `sound_beside`."""
    check_track(track, sheet)
    data = base64.b64encode(track.read_bytes()).decode()
    return HallSound(f"data:{_TYPES[track.suffix.lower()]};base64,{data}", "data:", track.name)


def check_track(track: Path, sheet: CueSheet) -> None:
    """Raise AudioError unless a file is the sheet's own track, as far as can be told."""
    find_format(track)
    length_ms = _length_ms(track)
    if abs(length_ms - sheet.duration_ms) > MOST_OFF_MS:
        lasts, planned = length_ms / 1000, sheet.duration_ms / 1000
        raise AudioError(
            f"this track lasts {lasts:.1f} s, the sheet {planned:.1f} s",
            where=Where(file=str(track)),
            remedy="Name the sheet that lies beside the track, make the track anew, or leave the "
            "sound out with --no-audio.",
        )
    beside = track.with_suffix(".sheet.json")
    if beside.is_file() and _lines(_own_sheet(beside)) != _lines(sheet):
        raise AudioError(
            f"this track was made from another sheet, {beside.name}",
            where=Where(file=str(track)),
            remedy=f"Make the page from {beside.name}, make the track anew, or leave the sound "
            "out with --no-audio.",
        )


def _own_sheet(path: Path) -> CueSheet:
    try:
        return load_sheet(path)
    except SheetError as bad:
        raise AudioError(
            f"the sheet beside this track cannot be read: {bad.problem}",
            where=Where(file=str(path)),
            remedy="Make the track anew, or move that file away.",
        ) from bad


def _lines(sheet: CueSheet) -> list[tuple[int, str]]:
    return [(cue.start_ms, cue.text) for cue in sheet.cues]


def _length_ms(track: Path) -> int:
    """Return how long a file is when it is decoded: a cut one's head says what it once was."""
    return ms_at(sum(len(block) for block in open_audio(track).blocks()))
