"""A booth whose voice never speaks, for commands whose promise is not how a track sounds."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from cuegen.script.candidate import Line
from cuegen.telling import Progress
from cuegen.voice.booth import Booth
from cuegen.voice.clip import Clip
from cuegen.voice.table import VoiceChoice, find_voice
from tests.voice.fake import FakeSpeaker


class QuickBooth(Booth):
    """A booth of the fake voice under a real one's name; nothing is kept and nothing started."""

    def __init__(self, voice: VoiceChoice) -> None:
        self.voice = voice
        self.spoken = self.from_cache = 0
        self.warnings = []
        self._fake = FakeSpeaker()

    def length_ms(self, line: Line) -> int:
        return self._fake.length_ms(line)

    def clip(self, line: Line) -> Clip:
        return self._fake.clip(line)

    def prepare(self, lines: Iterable[Line], on_progress: Progress | None = None) -> None:
        wanted = len(dict.fromkeys(lines))
        if on_progress:
            on_progress(wanted, wanted)

    def close(self) -> None:
        return


@contextmanager
def open_quick_booth(
    voice: str, language: str = "en", *, cache_dir: Path | None = None
) -> Iterator[Booth]:
    """Stand in for open_booth; an unknown voice is refused as it refuses one."""
    yield QuickBooth(find_voice(voice, language))
