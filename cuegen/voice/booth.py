"""Where lines become clips: pronounced, spoken or taken from the cache, finished.

Conventions
    A booth has one voice. Only what is missing is spoken; the voice's process is
    started by the first such lines, or at once where the cache is empty, and ended
    with the booth. What finishes clips takes a second to load: it is brought in while
    the voice loads. Lengths are kept in memory, samples only of the clips used last, so
    memory does not grow with the number of cues.

Where the cache folder cannot be written to (or fills up), clips are kept in a
temporary folder for as long as the booth is open, and `warnings` says so once.
"""

from __future__ import annotations

import tempfile
from collections import OrderedDict
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TypeVar

from cuegen.clock import SAMPLE_RATE
from cuegen.errors import OutputError, VoiceError, Where
from cuegen.memory import keep_freed_memory
from cuegen.script.candidate import Line
from cuegen.telling import Progress
from cuegen.voice.cache import ClipCache, clip_key, default_cache_dir
from cuegen.voice.characters import Curve
from cuegen.voice.clip import Clip, Samples, length_ms_of
from cuegen.voice.process import Ask, Spoken, VoiceProcess
from cuegen.voice.pronounce import Pronunciations, load_pronunciations
from cuegen.voice.table import VoiceChoice, find_voice

HELD_SAMPLES = 60 * SAMPLE_RATE
"""Clips held in memory: a minute of speech, 11.5 MB."""

_Found = TypeVar("_Found")

Finish = Callable[[Samples, int, Line, Curve], Samples]


class Booth:
    """A Speaker with a real voice. Made by `open_booth`.

    spoken, from_cache: how many different lines were spoken, and found ready.
    warnings: what went wrong without stopping the work.
    """

    def __init__(
        self,
        voice: VoiceChoice,
        process: VoiceProcess,
        cache: ClipCache,
        pronunciations: Pronunciations | None,
    ) -> None:
        keep_freed_memory()
        self.voice = voice
        self.spoken = 0
        self.from_cache = 0
        self.warnings: list[str] = []
        self._process = process
        self._caches = [cache]  # the last one is written to
        self._pronunciations = pronunciations
        self._fallback: tempfile.TemporaryDirectory[str] | None = None
        self._lengths: dict[Line, int] = {}
        self._held: OrderedDict[Line, Samples] = OrderedDict()
        self._held_samples = 0

    def length_ms(self, line: Line) -> int:
        """Return the length of the finished clip; speaks the line if need be."""
        known = self._known_length(line)
        if known is None:
            self._speak([line])
            known = self._lengths[line]
        return known

    def clip(self, line: Line) -> Clip:
        """Return the finished clip. Raises VoiceError."""
        samples = self._held.get(line)
        if samples is None:
            samples = self._first(lambda cache, key: cache.get(key), line)
        if samples is None:
            # Not kept, or damaged meanwhile.
            self._speak([line])
            samples = self._held[line]
        elif line not in self._lengths:
            self.from_cache += 1
        self._hold(line, samples)
        return Clip(line, samples)

    def prepare(self, lines: Iterable[Line], on_progress: Progress | None = None) -> None:
        """Speak all lines that are missing, each once. Raises VoiceError at the first that fails.

        What was spoken before an error, or before Ctrl-C, stays in the cache.
        """
        wanted = list(dict.fromkeys(lines))
        missing = [line for line in wanted if self._known_length(line) is None]
        done = len(wanted) - len(missing)
        if on_progress:
            on_progress(done, len(wanted))
        for count, _ in enumerate(self._spoken_one_by_one(missing), start=done + 1):
            if on_progress:
                on_progress(count, len(wanted))

    def close(self) -> None:
        """End the voice's process and drop what was kept for this booth alone."""
        self._process.close()
        if self._fallback:
            self._fallback.cleanup()

    def _known_length(self, line: Line) -> int | None:
        """Return a length from memory or from the header in the cache."""
        known = self._lengths.get(line)
        if known is None:
            samples = self._first(lambda cache, key: cache.length(key), line)
            if samples is not None:
                self.from_cache += 1
                known = self._lengths[line] = length_ms_of(samples)
        return known

    def _speak(self, lines: list[Line]) -> None:
        for _ in self._spoken_one_by_one(lines):
            pass

    def _spoken_one_by_one(self, lines: list[Line]) -> Iterator[Line]:
        asks = [Ask(line, self._given(line)) for line in lines]
        speaking = self._process.speak_all(asks)
        from cuegen.voice.finishing import finish

        for spoken in speaking:
            self._take(spoken, finish)
            yield spoken.line

    def _take(self, spoken: Spoken, finish: Finish) -> None:
        line = spoken.line
        try:
            samples = finish(spoken.samples, spoken.sample_rate, line, self.voice.curve)
        except VoiceError as bad:
            raise VoiceError(
                f"the voice {self.voice.name!r} could not speak this line: {bad.problem}",
                where=Where(text=line.text),
                remedy=bad.remedy or "Word the line otherwise, or choose another voice.",
            ) from None
        samples.flags.writeable = False
        self._keep(line, samples)
        self._hold(line, samples)
        self._lengths[line] = length_ms_of(len(samples))
        self.spoken += 1

    def _keep(self, line: Line, samples: Samples) -> None:
        key = self._key(line)
        try:
            self._caches[-1].put(key, samples, line.text)
        except OutputError as bad:
            if self._fallback:
                raise
            self._fall_back(bad)
            self._caches[-1].put(key, samples, line.text)

    def _fall_back(self, bad: OutputError) -> None:
        try:
            folder = tempfile.TemporaryDirectory(prefix="cuegen-", ignore_cleanup_errors=True)
        except OSError:
            raise bad from None
        self.warnings.append(
            f"spoken lines are not kept for next time, {self._caches[0].folder}: {bad.problem}"
        )
        self._fallback = folder
        self._caches.append(ClipCache(Path(folder.name)))

    def _hold(self, line: Line, samples: Samples) -> None:
        """Keep samples in memory, and let go of those used longest ago."""
        held = self._held.pop(line, None)
        self._held_samples += len(samples) - (0 if held is None else len(held))
        self._held[line] = samples
        self._lengths.setdefault(line, length_ms_of(len(samples)))
        while self._held_samples > HELD_SAMPLES and len(self._held) > 1:
            _, dropped = self._held.popitem(last=False)
            self._held_samples -= len(dropped)

    def _first(
        self, look: Callable[[ClipCache, bytes], _Found | None], line: Line
    ) -> _Found | None:
        """Return what the first cache that has the line's clip says of it."""
        key = self._key(line)
        found = (look(cache, key) for cache in self._caches)
        return next((one for one in found if one is not None), None)

    def _key(self, line: Line) -> bytes:
        return clip_key(self.voice, self._given(line), line.speed)

    def _given(self, line: Line) -> str:
        if self._pronunciations is None:
            return " ".join(line.text.split())
        return self._pronunciations.spoken(line.text, self.voice.spec.name)


@contextmanager
def open_booth(
    voice: str, language: str = "en", *, cache_dir: Path | None = None
) -> Iterator[Booth]:
    """Open a booth with the voice of that name for that language. Raises VoiceError.

    `cache_dir` None: the default folder, see `default_cache_dir`.
    """
    choice = find_voice(voice, language)
    words = load_pronunciations() if choice.is_english else None
    cache = ClipCache(cache_dir or default_cache_dir())
    process = VoiceProcess(choice)
    booth = Booth(choice, process, cache, words)
    try:
        if cache.is_empty:
            with suppress(VoiceError):  # What fails is told by the first line.
                process.start()
        yield booth
    finally:
        booth.close()
