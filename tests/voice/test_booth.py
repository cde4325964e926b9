"""A booth: each line is spoken once, kept, found again, and survives damage and full disks."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest

from cuegen.errors import OutputError, VoiceError
from cuegen.script.candidate import Line
from cuegen.voice import booth as booth_module
from cuegen.voice.booth import Booth, open_booth
from cuegen.voice.cache import ClipCache
from cuegen.voice.finishing import finish
from cuegen.voice.process import VoiceProcess
from cuegen.voice.pronounce import Pronunciation, Pronunciations
from tests.voice.engines_for_tests import (
    RATE,
    CrashingEngine,
    SilentEngine,
    SteadyEngine,
    choice_of,
    steady_sound,
)

LINES = [Line("One."), Line("Three."), Line("Hold this length."), Line("Three.", 1.12)]


@contextmanager
def _booth(
    folder: Path, engine: type = SteadyEngine, words: Pronunciations | None = None
) -> Iterator[Booth]:
    voice = choice_of(engine)
    booth = Booth(voice, VoiceProcess(voice), ClipCache(folder), words)
    try:
        yield booth
    finally:
        booth.close()


def test_a_clip_is_the_finished_sound_of_its_line(tmp_path: Path) -> None:
    with _booth(tmp_path) as booth:
        clip = booth.clip(LINES[1])
    assert clip.line == LINES[1]
    assert np.array_equal(clip.samples, finish(steady_sound("Three."), RATE, LINES[1]))


def test_length_and_clip_agree_before_and_after_keeping(tmp_path: Path) -> None:
    for _ in range(2):
        with _booth(tmp_path) as booth:
            lengths = [booth.length_ms(line) for line in LINES]
            assert lengths == [booth.clip(line).length_ms for line in LINES]


def test_each_line_is_spoken_once_however_often_it_is_asked_for(tmp_path: Path) -> None:
    with _booth(tmp_path) as booth:
        booth.prepare([*LINES, *LINES])
        for line in LINES:
            booth.length_ms(line)
            booth.clip(line)
        booth.prepare(LINES)
        assert (booth.spoken, booth.from_cache) == (len(LINES), 0)
    with _booth(tmp_path) as booth:
        booth.prepare([*LINES, Line("New.")])
        booth.clip(LINES[0])
        assert (booth.spoken, booth.from_cache) == (1, len(LINES))


def test_kept_lines_need_no_voice(tmp_path: Path) -> None:
    with _booth(tmp_path) as booth:
        booth.prepare(LINES)
        before = [booth.clip(line).samples for line in LINES]
    with _booth(tmp_path) as booth:
        booth.prepare(LINES)
        assert all(
            np.array_equal(booth.clip(line).samples, samples)
            for line, samples in zip(LINES, before, strict=True)
        )
        assert booth._process.pid is None


def test_progress_counts_what_is_done_up_to_all(tmp_path: Path) -> None:
    with _booth(tmp_path) as booth:
        booth.prepare(LINES[:1])
        seen: list[tuple[int, int]] = []
        booth.prepare(LINES, lambda done, of: seen.append((done, of)))
    assert seen == [(1, 4), (2, 4), (3, 4), (4, 4)]


def test_nothing_to_prepare_is_nothing_to_do(tmp_path: Path) -> None:
    with _booth(tmp_path) as booth:
        booth.prepare([])
        assert (booth.spoken, booth.from_cache) == (0, 0)


def test_the_engine_is_given_the_words_its_own_way_and_the_key_follows(tmp_path: Path) -> None:
    words = Pronunciations({"bow": Pronunciation(respell="bough")})
    with _booth(tmp_path, words=words) as booth:
        clip = booth.clip(Line("The bow."))
        assert np.array_equal(clip.samples, finish(steady_sound("The bough."), RATE, clip.line))
    with _booth(tmp_path) as booth:
        booth.clip(Line("The bow."))
        assert booth.spoken == 1


def test_a_damaged_entry_is_spoken_again(tmp_path: Path) -> None:
    with _booth(tmp_path) as booth:
        sound = booth.clip(LINES[0]).samples
    (path,) = list(tmp_path.rglob("*.clip"))
    data = bytearray(path.read_bytes())
    data[-1] ^= 255
    path.write_bytes(data)
    with _booth(tmp_path) as booth:
        assert booth.length_ms(LINES[0]) > 0
        assert np.array_equal(booth.clip(LINES[0]).samples, sound)
        assert booth.spoken == 1
    with _booth(tmp_path) as booth:
        booth.clip(LINES[0])
        assert (booth.spoken, booth.from_cache) == (0, 1)


def test_memory_holds_the_clips_used_last_and_no_more(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(booth_module, "HELD_SAMPLES", 60_000)
    with _booth(tmp_path) as booth:
        lines = [Line(f"Line number {number}.") for number in range(12)]
        booth.prepare(lines)
        for line in lines:
            assert booth.clip(line).line == line
            held = sum(len(samples) for samples in booth._held.values())
            assert held == booth._held_samples <= 60_000
        assert booth.spoken == len(lines)


def test_a_folder_that_cannot_be_written_to_costs_one_warning_and_no_line(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with _booth(tmp_path / "file") as booth:
        booth.prepare(LINES)
        assert [booth.clip(line).line for line in LINES] == LINES
        assert booth.spoken == len(LINES)
        (warning,) = booth.warnings
        assert "not kept for next time" in warning
        assert str(tmp_path / "file") in warning
        folder = booth._caches[-1].folder
        assert folder.is_dir()
    assert not folder.exists()


def test_a_disk_that_fills_up_half_way_keeps_what_is_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    put = ClipCache.put

    def full_after_one(self: ClipCache, key: bytes, samples: np.ndarray, text: str) -> None:
        if self.folder == tmp_path and self.size().entries == 1:
            raise OutputError("could not write: No space left on device")
        put(self, key, samples, text)

    monkeypatch.setattr(ClipCache, "put", full_after_one)
    monkeypatch.setattr(booth_module, "HELD_SAMPLES", 1)
    with _booth(tmp_path) as booth:
        booth.prepare(LINES)
        assert [booth.clip(line).line for line in LINES] == LINES
        assert booth.spoken == len(LINES)
        assert len(booth.warnings) == 1


def test_no_room_anywhere_is_an_error(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(self: ClipCache, key: bytes, samples: np.ndarray, text: str) -> None:
        raise OutputError("could not write: No space left on device")

    monkeypatch.setattr(ClipCache, "put", full)
    with _booth(tmp_path) as booth, pytest.raises(OutputError, match="No space left"):
        booth.prepare(LINES)


def test_a_silent_engine_is_told_with_voice_and_line(tmp_path: Path) -> None:
    with (
        _booth(tmp_path, SilentEngine) as booth,
        pytest.raises(VoiceError, match=r"'fake' could not speak this line: .* silence") as caught,
    ):
        booth.clip(Line("Three."))
    assert caught.value.where.text == "Three."
    assert list(tmp_path.rglob("*.clip")) == []


def test_what_was_spoken_before_an_error_is_kept(tmp_path: Path) -> None:
    lines = [Line("One."), Line("Two."), Line("Three.")]
    with _booth(tmp_path, CrashingEngine) as booth, pytest.raises(VoiceError, match="twice"):
        booth.prepare(lines)
    with _booth(tmp_path, CrashingEngine) as booth:
        booth.length_ms(lines[0])
        assert (booth.spoken, booth.from_cache) == (0, 1)


_INTERRUPTED = """
import signal, sys, threading
signal.signal(signal.SIGINT, signal.default_int_handler)
from pathlib import Path
from cuegen.script.candidate import Line
from cuegen.voice.booth import Booth
from cuegen.voice.cache import ClipCache
from cuegen.voice.process import VoiceProcess
from tests.voice.engines_for_tests import HangingEngine, choice_of
voice = choice_of(HangingEngine, side_by_side=True)
process = VoiceProcess(voice)
booth = Booth(voice, process, ClipCache(Path(sys.argv[1])), None)
try:
    booth.prepare([Line("One."), Line("Two.")], lambda done, of: print(process.pid, flush=True))
except KeyboardInterrupt:
    booth.close()
    sys.exit(130 + (process.pid is not None) + threading.active_count() - 1)
"""


@pytest.mark.skipif(sys.platform != "linux", reason="reads /proc")
def test_ctrl_c_leaves_whole_entries_and_no_worker_and_no_thread(tmp_path: Path) -> None:
    command = [sys.executable, "-c", _INTERRUPTED, str(tmp_path)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as parent:
        assert parent.stdout is not None
        assert parent.stdout.readline() == "None\n"
        worker = int(parent.stdout.readline())
        os.kill(parent.pid, signal.SIGINT)
        assert parent.wait(5) == 130
    assert not Path(f"/proc/{worker}").exists()
    files = [path for path in tmp_path.rglob("*") if path.is_file()]
    assert [path.suffix for path in files] == [".clip"]
    assert not files[0].name.startswith(".")


def test_open_booth_uses_the_folder_it_is_given_and_the_list_for_english(tmp_path: Path) -> None:
    with open_booth("small", cache_dir=tmp_path) as booth:
        assert booth._given(Line("The bow.")) == "The bough."
        booth.clip(Line("The bow."))
    assert len(list(tmp_path.rglob("*.clip"))) == 1
    with open_booth("small", "de", cache_dir=tmp_path) as booth:
        assert booth._given(Line("Der  Bug, the bow.")) == "Der Bug, the bow."


def test_open_booth_refuses_an_unknown_voice_before_anything_starts() -> None:
    with pytest.raises(VoiceError, match="no such voice"), open_booth("nobody"):
        pass


def test_a_voice_loads_at_once_where_nothing_is_kept_yet(tmp_path: Path) -> None:
    with open_booth("small", cache_dir=tmp_path) as booth:
        assert booth._process.pid is not None
        booth.clip(Line("One."))
    with open_booth("small", cache_dir=tmp_path) as booth:
        assert booth._process.pid is None
