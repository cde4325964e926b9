"""A bed of music files: found, measured, levelled, one after the other, over and over.

Conventions
    Two channels at 48 kHz, whatever the files hold; tempo and pitch are left alone.
    A folder counts as the music in it by natural name order (2 before 10, capitals
    alike); hidden files, folders and what is no audio by its name are passed over.
    Each file is brought to 0 LUFS gated, its silent ends left off, and runs into the
    next at equal power; after the last comes the first. Instants are samples of the
    track. Memory holds what crosses from one file to the next and 20 ms powers, not
    the music: it does not grow with the track.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import count
from pathlib import Path

import numpy as np

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.dsp.decode import AudioSource, open_audio
from cuegen.dsp.signal import Signal, gain_of
from cuegen.errors import AudioError, Where
from cuegen.mix.bed_powers import CHANNELS, STEP, UNIT_POWER, PowerMeter, Powers, gated_lufs

CROSSFADE_MS = 2_000
"""How long one file runs into the next (our own judgement; common practice, no source)."""
SHORTEST_MS = 3_000
"""A shorter file is a sound, not a bed."""

MUSIC_SUFFIXES = (
    *(".mp3", ".m4a", ".m4b", ".mp4", ".aac", ".flac", ".ogg", ".oga", ".opus", ".wav"),
    *(".aif", ".aiff", ".caf", ".wma", ".webm", ".mka", ".3gp", ".amr"),
)
"""What counts as music in a folder; a file that is named needs none of these."""

_SILENT_LU = 30.0
"""Ends of a file that lie this far under its loudness are left off."""


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """One file, measured. first, length: its samples that sound. gain: brings them to 0 LUFS.

    powers: of these samples at 0 LUFS.
    """

    source: AudioSource
    first: int
    length: int
    gain: float
    powers: Powers

    def blocks(self) -> Iterator[Signal]:
        """Give the samples that sound (n, 2), levelled."""
        skip, left, gain = self.first, self.length, np.float32(self.gain)
        for block in self.source.blocks():
            part = block[skip : skip + left]
            skip = max(0, skip - len(block))
            left -= len(part)
            if len(part):
                yield two_channels(part) * gain
            if left == 0:
                return


@dataclass(frozen=True, slots=True, eq=False)
class MusicBed:
    """Pieces along a track. powers: of the track's every 20 ms, at 0 LUFS."""

    pieces: tuple[Piece, ...]
    powers: Powers
    doubt_db: float = 0.0

    def blocks(self) -> Iterator[Signal]:
        """Give the bed from the start of the track on, without end."""
        return joined(self.pieces)


def open_music(names: Sequence[str], length: int) -> MusicBed:
    """Measure as many of the files and folders as a track of `length` samples needs.

    Raises AudioError, with the file's name, for any that is missing or no audio,
    and for one that is needed and too short or silent.
    """
    sources = [open_audio(path) for path in music_files(names)]
    pieces: list[Piece] = []
    covered = 0
    for source in sources:
        pieces.append(measured(source))
        covered += pieces[-1].length - samples_at(CROSSFADE_MS)
        if covered >= length:
            break
    return MusicBed(tuple(pieces), powers_along(pieces, length))


def music_files(names: Iterable[str]) -> tuple[Path, ...]:
    """Return the files that are named, and for a folder the music in it."""
    found: list[Path] = []
    for name in names:
        path = Path(name)
        found += _music_in(path) if path.is_dir() else [path]
    return tuple(found)


def _music_in(folder: Path) -> list[Path]:
    try:
        entries = list(folder.iterdir())
    except OSError as bad:
        raise AudioError(
            f"this folder cannot be read: {bad.strerror or bad}", where=Where(file=str(folder))
        ) from None
    music = [path for path in entries if _is_music(path)]
    if not music:
        raise AudioError(
            "there is no music in this folder",
            where=Where(file=str(folder)),
            remedy="Put audio files in it (mp3, m4a, flac, ogg, opus, wav...).",
        )
    return sorted(music, key=lambda path: natural_order(path.name))


def _is_music(path: Path) -> bool:
    hidden = path.name.startswith(".")
    return not hidden and path.suffix.lower() in MUSIC_SUFFIXES and path.is_file()


def natural_order(name: str) -> tuple[list[tuple[int, int | str]], str]:
    """Return what to sort a name by so that "2 tide" comes before "10 tide"."""
    parts = (part for part in re.split(r"([0-9]+)", name.casefold()) if part)
    return [(0, int(part)) if part.isdecimal() else (1, part) for part in parts], name


def measured(source: AudioSource) -> Piece:
    """Listen through a file; raises AudioError where it is damaged, too short or silent."""
    meter = PowerMeter()
    for block in source.blocks():
        meter.add(two_channels(block))
    powers = meter.powers()
    lufs = gated_lufs(powers)
    where = Where(file=str(source.path))
    if lufs == -math.inf and meter.length >= samples_at(SHORTEST_MS):
        raise AudioError("this bed is silent", where=where, remedy="Name another file.")
    first, length = _sounding(powers, lufs, meter.length)
    if length < samples_at(SHORTEST_MS):
        raise AudioError(
            f"lasts {length / SAMPLE_RATE:.1f} s, too short for a bed",
            where=where,
            remedy=f"Name music of {SHORTEST_MS // 1000} s or more; it is looped.",
        )
    kept = powers[first // STEP : (first + length) // STEP]
    level = np.float32(10.0 ** (-lufs / 10.0))
    return Piece(source, first, length, gain_of(-lufs), kept * level)


def _sounding(powers: Powers, lufs: float, length: int) -> tuple[int, int]:
    """Return the first sample and the number of samples between a file's silent ends."""
    if lufs == -math.inf:
        return 0, length
    least = UNIT_POWER * 10.0 ** ((lufs - _SILENT_LU) / 10.0)
    loud = np.flatnonzero(powers > least)
    first = int(loud[0]) * STEP
    last = length if loud[-1] == len(powers) - 1 else (int(loud[-1]) + 1) * STEP
    return first, last - first


def joined(pieces: Sequence[Piece]) -> Iterator[Signal]:
    """Give the pieces in turn, over and over, each end crossfaded into the next beginning."""
    tail = np.zeros((0, CHANNELS), dtype=np.float32)
    for number in count():
        piece, after = pieces[number % len(pieces)], pieces[(number + 1) % len(pieces)]
        tap = Tap(piece.blocks())
        if len(tail):
            rising, falling = crossfade(len(tail))
            yield tap.take(len(tail)) * rising + tail * falling
        cross = _cross(piece, after)
        left = piece.length - len(tail) - cross
        while left > 0:
            part = tap.take(min(left, SAMPLE_RATE))
            yield part
            left -= len(part)
        tail = tap.take(cross)


def crossfade(length: int) -> tuple[Signal, Signal]:
    """Return the gains (length, 1) of what comes and what goes; their squares add up to 1."""
    turn = np.linspace(0.0, np.pi / 2, length, dtype=np.float32)[:, np.newaxis]
    return np.sin(turn), np.cos(turn)


def _cross(piece: Piece, after: Piece) -> int:
    return min(samples_at(CROSSFADE_MS), piece.length // 2, after.length // 2)


def powers_along(pieces: Sequence[Piece], length: int) -> Powers:
    """Return the powers of a track of `length` samples laid out as `joined` does."""
    along = np.zeros(-(-length // STEP), dtype=np.float32)
    start = coming = 0
    for number in count():
        if start >= length:
            return along
        piece, after = pieces[number % len(pieces)], pieces[(number + 1) % len(pieces)]
        going = _cross(piece, after)
        at = round(start / STEP)
        room = along[at : at + len(piece.powers)]
        room += _faded(piece.powers, coming // STEP, going // STEP)[: len(room)]
        start += piece.length - going
        coming = going
    raise AssertionError("counting does not end")


def _faded(powers: Powers, coming: int, going: int) -> Powers:
    faded = powers.copy()
    if coming:
        faded[:coming] *= np.square(crossfade(coming)[0][:, 0])
    if going:
        faded[-going:] *= np.square(crossfade(going)[1][:, 0])
    return faded


class Tap:
    """Draws any number of samples from blocks (m, 2) of any length."""

    def __init__(self, blocks: Iterator[Signal]) -> None:
        self._blocks = blocks
        self._left = np.zeros((0, CHANNELS), dtype=np.float32)

    def take(self, length: int) -> Signal:
        """Return `length` samples; silence fills up what the blocks do not hold."""
        parts, have = [self._left], len(self._left)
        while have < length:
            block = next(self._blocks, None)
            if block is None:
                block = np.zeros((length - have, CHANNELS), dtype=np.float32)
            parts.append(block)
            have += len(block)
        together = np.concatenate(parts)
        self._left = together[length:]
        return together[:length]


def two_channels(block: Signal) -> Signal:
    """Return a block as (n, 2); one channel sounds from both."""
    return block if block.shape[1] == CHANNELS else np.repeat(block, CHANNELS, axis=1)
