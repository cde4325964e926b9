"""The takes of a long recording written out, each as it was recorded.

Conventions
    The recording streams by once more, at its own rate and with its own channels, and each
    stretch is written as it stands: nothing is repaired yet, so that a take can always be
    judged by what was recorded. Existing takes are left alone unless they are to be replaced.
    Stretches that nobody is sure of go into a folder of their own, UNSURE, named by what
    they may be; they are no takes until somebody has listened and moved them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from cuegen.clock import samples_at
from cuegen.dsp.decode import AudioSource, open_audio
from cuegen.dsp.signal import Signal
from cuegen.files import writing
from cuegen.schedule.cuesheet import CueSheet
from cuegen.takes.cutting import (
    CutTake,
    Cutting,
    Stretch,
    cutting_of,
    kept_span,
    need_english,
    read_long,
)
from cuegen.takes.examine import Examiner
from cuegen.takes.folder import matched, open_folder
from cuegen.takes.lines import lines_to_record
from cuegen.takes.listing import numbers_of
from cuegen.telling import Progress
from cuegen.voice.recorded import write_wav

UNSURE = "unsure"


@dataclass(frozen=True, slots=True)
class CutOut:
    """What a recording holds, and the file that each take was written to. kept: names of
    takes that the folder had already, and which were left alone."""

    cutting: Cutting
    files: dict[CutTake, Path]
    kept: tuple[str, ...]


def cut_into(
    path: Path,
    sheet: CueSheet,
    into: Path,
    *,
    replace_them: bool = False,
    on_progress: Progress | None = None,
) -> CutOut:
    """Cut a recording of the lines of a sheet into takes in a folder.

    Raises AudioError, OutputError, and TakeError where the language is not English.
    """
    need_english(sheet.sound.language, path)
    folder = open_folder(into) if into.exists() else None
    lines = lines_to_record(sheet, numbers_of(folder.listed) if folder else None)
    with Examiner(lines, sheet.sound.language) as examiner:
        cutting = cutting_of(read_long(path), lines, examiner, on_progress)
    there = matched(folder, lines).takes if folder and not replace_them else {}
    kept = {line.name for line in lines if line.key in there}
    files = {take: into / f"{take.name}.wav" for take in cutting.taken if take.name not in kept}
    for number, take in enumerate(cutting.unsure, start=1):
        files[take] = into / UNSURE / f"{number:02d}-maybe-{take.name}.wav"
    write_takes(path, cutting, files)
    return CutOut(cutting, files, tuple(sorted(kept & {take.name for take in cutting.taken})))


def write_takes(path: Path, cutting: Cutting, files: Mapping[CutTake, Path]) -> None:
    """Write stretches of a recording to files. Raises OutputError, AudioError."""
    source = open_audio(path)
    native = replace(source, sample_rate=source.file_rate)
    for file, sound in _slices(native, [(_kept(cutting, take), to) for take, to in files.items()]):
        with writing(file) as part:
            write_wav(part, sound, source.file_rate)


def _kept(cutting: Cutting, take: CutTake) -> Stretch:
    first = next(piece for piece in cutting.pieces if piece.start_ms == take.start_ms)
    last = next(piece for piece in cutting.pieces if piece.end_ms == take.end_ms)
    return kept_span(cutting.pieces, first, last)


def _slices(
    source: AudioSource, spans: Sequence[tuple[Stretch, Path]]
) -> Iterator[tuple[Path, Signal]]:
    """Yield stretches of a file at its own rate, as it streams by."""
    waiting = sorted(spans)
    held, at = np.zeros((0, source.channels), dtype=np.float32), 0
    for block in source.blocks():
        held = np.concatenate([held, block])
        while waiting and samples_at(waiting[0][0][1], source.sample_rate) <= at + len(held):
            (start_ms, end_ms), file = waiting.pop(0)
            first = samples_at(start_ms, source.sample_rate) - at
            yield file, held[first : samples_at(end_ms, source.sample_rate) - at]
        start_ms = waiting[0][0][0] if waiting else 0
        drop = (
            min(len(held), samples_at(start_ms, source.sample_rate) - at) if waiting else len(held)
        )
        held, at = held[max(0, drop) :], at + max(0, drop)
    for (start_ms, _), file in waiting:
        yield file, held[max(0, samples_at(start_ms, source.sample_rate) - at) :]
