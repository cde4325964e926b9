"""A voice ready to speak: lines in, finished clips out, each spoken once and kept.

Conventions
    A clip is looked for in memory, then in the cache, and only then spoken. In
    memory stay the lengths of all lines and the samples of the last few, so that
    a session of hours needs no more than one of minutes. Where the cache takes
    nothing, clips are spoken anew each time; the track is the same.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from types import TracebackType
from typing import Self

from cuegen.script.candidate import Line
from cuegen.voice.cache import ClipCache, default_folder, key_of
from cuegen.voice.clip import Clip, Samples, length_ms_of
from cuegen.voice.finishing import finish
from cuegen.voice.process import Ask, VoiceProcess
from cuegen.voice.pronounce import Pronunciations, load_pronunciations
from cuegen.voice.table import VoiceChoice, find_voice

_KEPT_CLIPS = 24

Progress = Callable[[int, int], None]


def open_booth(voice: str, language: str = "en", *, cache_dir: Path | None = None) -> Booth:
    """Return a booth with that voice; its engine starts with the first line not cached.

    Raises VoiceError where there is no such voice. Close it, or use it in `with`.
    """
    choice = find_voice(voice, language)
    return Booth(
        choice,
        VoiceProcess(choice),
        ClipCache(cache_dir or default_folder()),
        load_pronunciations(),
    )


class Booth:
    """A Speaker with a real voice.

    spoken, from_cache: lines that were synthesised, and that were found on disk.
    cache_failed: the cache folder did not take an entry.
    """

    def __init__(
        self,
        voice: VoiceChoice,
        process: VoiceProcess,
        cache: ClipCache,
        pronunciations: Pronunciations,
    ) -> None:
        self.voice = voice
        self.spoken = 0
        self.from_cache = 0
        self.cache_failed = False
        self._process = process
        self._cache = cache
        self._pronunciations = pronunciations
        self._lengths: dict[Line, int] = {}
        self._clips: OrderedDict[Line, Samples] = OrderedDict()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """End the engine's process."""
        self._process.close()

    def length_ms(self, line: Line) -> int:
        """Return the length of the finished clip; speaks the line if it is not cached."""
        if line not in self._lengths:
            self.prepare([line])
        return self._lengths[line]

    def clip(self, line: Line) -> Clip:
        """Return the finished clip. Raises VoiceError where it cannot be spoken."""
        if line not in self._clips:
            samples = self._cache.get(self._key(line))
            if samples is None:  # never made, or damaged
                for _ in self._speak([line]):
                    pass
            else:
                self._keep(line, samples)
        self._clips.move_to_end(line)
        return Clip(line, self._clips[line])

    def prepare(self, lines: Iterable[Line], on_progress: Progress | None = None) -> None:
        """See to it that the lengths of all these lines are known, speaking what is missing."""
        missing: list[Line] = []
        for line in dict.fromkeys(lines):
            if line in self._lengths:
                continue
            count = self._cache.length(self._key(line))
            if count is None:
                missing.append(line)
            else:
                self._lengths[line] = length_ms_of(count)
                self.from_cache += 1
        for done, _ in enumerate(self._speak(missing), start=1):
            if on_progress is not None:
                on_progress(done, len(missing))

    def _speak(self, lines: list[Line]) -> Iterator[Line]:
        """Speak, finish and keep these lines; yields each when it is done."""
        asks = [Ask(line, self._given(line)) for line in lines]
        for spoken in self._process.speak_all(asks):
            samples = finish(spoken.samples, spoken.sample_rate, spoken.line)
            self.spoken += 1
            if not self._cache.put(self._key(spoken.line), samples):
                self.cache_failed = True
            self._keep(spoken.line, samples)
            yield spoken.line

    def _keep(self, line: Line, samples: Samples) -> None:
        self._lengths[line] = length_ms_of(len(samples))
        self._clips[line] = samples
        while len(self._clips) > _KEPT_CLIPS:
            self._clips.popitem(last=False)

    def _given(self, line: Line) -> str:
        """Return the text as the engine is given it, with words of the trade respelled."""
        if not self.voice.is_english:
            return line.text  # the list is about English
        return self._pronunciations.spoken(line.text, self.voice.spec.name)

    def _key(self, line: Line) -> str:
        return key_of(self.voice, self._given(line), line.speed)
