"""The cache: whole entries or none, whatever happens to its files."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from cuegen.errors import OutputError
from cuegen.voice import cache as cache_module
from cuegen.voice.cache import CACHE_VARIABLE, CacheSize, ClipCache, clip_key, default_cache_dir
from cuegen.voice.table import VoiceChoice, find_voice
from tests.voice.engines_for_tests import SteadyEngine, choice_of

KEY = bytes(range(32))
SAMPLES = np.random.default_rng(1).standard_normal(2_000).astype(np.float32)


def _entry(cache: ClipCache) -> Path:
    (path,) = [path for path in cache.folder.rglob("*") if path.is_file()]
    return path


def test_a_clip_comes_back_bit_for_bit_and_its_length_without_it(tmp_path: Path) -> None:
    cache = ClipCache(tmp_path)
    assert cache.get(KEY) is None
    assert cache.length(KEY) is None
    cache.put(KEY, SAMPLES)
    kept = cache.get(KEY)
    assert kept is not None
    assert kept.dtype == np.float32
    assert kept.tobytes() == SAMPLES.tobytes()
    assert cache.length(KEY) == len(SAMPLES)


def test_nothing_but_the_entry_is_left_behind(tmp_path: Path) -> None:
    cache = ClipCache(tmp_path)
    cache.put(KEY, SAMPLES)
    assert _entry(cache).name == f"{KEY.hex()}.clip"


def _flip(place: int) -> Callable[[bytes], bytes]:
    def damaged(data: bytes) -> bytes:
        at = place % len(data)
        return data[:at] + bytes([data[at] ^ 1]) + data[at + 1 :]

    return damaged


def _damaged(folder: Path, damage: Callable[[bytes], bytes]) -> ClipCache:
    """Return a cache whose one entry was damaged after it was kept."""
    cache = ClipCache(folder)
    cache.put(KEY, SAMPLES)
    path = _entry(cache)
    path.write_bytes(damage(path.read_bytes()))
    return cache


@pytest.mark.parametrize(
    "damage",
    [
        _flip(0),  # magic
        _flip(9),  # key
        _flip(41),  # count
        _flip(50),  # checksum of the samples
        _flip(53),  # checksum of the header
        _flip(-1),  # samples
        lambda data: data[:-1],
        lambda data: data[:30],
        lambda data: data + b"\0",
        lambda _: b"",
    ],
    ids=[
        "magic",
        "key",
        "count",
        "crc",
        "header crc",
        "samples",
        "cut",
        "cut in header",
        "grown",
        "empty",
    ],
)
def test_a_damaged_entry_counts_as_missing(
    tmp_path: Path, damage: Callable[[bytes], bytes]
) -> None:
    assert _damaged(tmp_path, damage).get(KEY) is None


@pytest.mark.parametrize("damage", [lambda data: data[:-1], _flip(41)], ids=["cut", "count"])
def test_a_length_is_not_believed_where_the_entry_is_not_whole(
    tmp_path: Path, damage: Callable[[bytes], bytes]
) -> None:
    assert _damaged(tmp_path, damage).length(KEY) is None


def test_an_entry_in_the_wrong_place_counts_as_missing(tmp_path: Path) -> None:
    cache = ClipCache(tmp_path)
    cache.put(KEY, SAMPLES)
    other = bytes(32)
    place = tmp_path / "clips" / "00" / f"{other.hex()}.clip"
    place.parent.mkdir(exist_ok=True)
    _entry(cache).rename(place)
    assert cache.get(other) is None
    assert cache.length(other) is None


def test_a_damaged_entry_is_made_again(tmp_path: Path) -> None:
    cache = ClipCache(tmp_path)
    cache.put(KEY, SAMPLES)
    _entry(cache).write_bytes(b"torn")
    cache.put(KEY, SAMPLES)
    kept = cache.get(KEY)
    assert kept is not None
    assert np.array_equal(kept, SAMPLES)


def test_a_folder_that_cannot_be_written_to_is_an_output_error(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    cache = ClipCache(tmp_path / "file")
    assert cache.get(KEY) is None
    with pytest.raises(OutputError, match="could not write"):
        cache.put(KEY, SAMPLES)


def test_size_counts_clips_and_clear_removes_them_alone(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("not a clip")
    cache = ClipCache(tmp_path)
    assert cache.size() == CacheSize(0, 0)
    assert cache.clear() == CacheSize(0, 0)
    cache.put(KEY, SAMPLES)
    cache.put(bytes(32), SAMPLES[:100])
    assert cache.size() == CacheSize(2, 2 * 60 + 4 * (2_000 + 100))
    assert cache.clear() == CacheSize(2, 2 * 60 + 4 * (2_000 + 100))
    assert cache.size() == CacheSize(0, 0)
    assert (tmp_path / "notes.txt").exists()


_WRITER = """
import sys
from pathlib import Path
import numpy as np
from cuegen.voice.cache import ClipCache
samples = np.random.default_rng(1).standard_normal(2_000).astype(np.float32)
print("ready", flush=True)
sys.stdin.readline()
for _ in range(100):
    ClipCache(Path(sys.argv[1])).put(bytes(range(32)), samples)
"""


@pytest.mark.slow
def test_two_processes_writing_one_entry_never_show_half_of_it(tmp_path: Path) -> None:
    command = [sys.executable, "-c", _WRITER, str(tmp_path)]
    writers = [
        subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE) for _ in range(2)
    ]
    for writer in writers:
        assert writer.stdout is not None
        assert writer.stdout.readline() == b"ready\n"
    for writer in writers:
        assert writer.stdin is not None
        writer.stdin.write(b"go\n")
        writer.stdin.flush()
    cache, seen = ClipCache(tmp_path), 0
    while any(writer.poll() is None for writer in writers):
        kept = cache.get(KEY)
        if kept is not None:
            seen += 1
            assert np.array_equal(kept, SAMPLES)
        else:
            assert seen == 0, "an entry that stood was gone"
    for writer in writers:
        writer.communicate()
    assert [writer.returncode for writer in writers] == [0, 0]
    assert seen > 0
    assert _entry(cache).name == f"{KEY.hex()}.clip"


_VOICE = choice_of(SteadyEngine)


@pytest.mark.parametrize(
    ("voice", "given", "speed"),
    [
        (replace(_VOICE, identity="other"), "Go.", 1.0),
        (replace(_VOICE, version="2"), "Go.", 1.0),
        (replace(_VOICE, settings=(("seed", "1"),)), "Go.", 1.0),
        (_VOICE, "Go!", 1.0),
        (_VOICE, "Go.", 1.05),
    ],
    ids=["voice", "version", "settings", "text", "speed"],
)
def test_the_key_depends_on_all_that_changes_the_sound(
    voice: VoiceChoice, given: str, speed: float
) -> None:
    assert clip_key(voice, given, speed) != clip_key(_VOICE, "Go.", 1.0)


def test_the_key_depends_on_how_clips_are_finished(monkeypatch: pytest.MonkeyPatch) -> None:
    before = clip_key(_VOICE, "Go.", 1.0)
    monkeypatch.setattr(cache_module, "FINISHING_VERSION", 999)
    assert clip_key(_VOICE, "Go.", 1.0) != before


def test_the_language_of_the_small_voice_is_part_of_the_key() -> None:
    english, german = find_voice("small", "en"), find_voice("small", "de")
    assert clip_key(english, "Ruder.", 1.0) != clip_key(german, "Ruder.", 1.0)


def test_the_folder_is_the_variable_s_or_the_system_s(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(CACHE_VARIABLE, "somewhere/else")
    assert default_cache_dir() == Path("somewhere/else")
    monkeypatch.delenv(CACHE_VARIABLE)
    assert default_cache_dir().name == "cuegen"


class TestRemoveNaming:
    """A rower who is forgotten leaves no spoken name behind."""

    def kept(self, tmp_path: Path, *texts: str) -> ClipCache:
        cache = ClipCache(tmp_path)
        for number, text in enumerate(texts):
            cache.put(bytes([number]) * 32, SAMPLES[:100], text)
        return cache

    def test_lines_with_the_name_go_and_others_stay(self, tmp_path: Path) -> None:
        cache = self.kept(
            tmp_path, "Good morning, Edda Kolm.", "Rate up, twenty.", "Now, EDDA KOLM!"
        )
        assert cache.remove_naming(["Edda Kolm"]) == 2
        assert cache.get(bytes([1]) * 32) is not None
        assert cache.size().entries == 1

    def test_a_part_of_another_word_is_no_name(self, tmp_path: Path) -> None:
        cache = self.kept(tmp_path, "Annabel rows.", "Anna rows.")
        assert cache.remove_naming(["Anna"]) == 1
        assert cache.get(bytes([0]) * 32) is not None

    def test_names_are_no_patterns(self, tmp_path: Path) -> None:
        assert self.kept(tmp_path, "Edda.").remove_naming([".*", "(", ""]) == 0

    def test_entries_of_an_older_kind_go_too_since_nobody_knows_their_text(
        self, tmp_path: Path
    ) -> None:
        cache = self.kept(tmp_path, "Rate up, twenty.")
        old = tmp_path / "clips" / "ab" / f"{'ab' * 32}.clip"
        old.parent.mkdir()
        old.write_bytes(b"CUECLIP1" + bytes(100))
        assert cache.remove_naming(["Edda Kolm"]) == 0
        assert not old.exists()

    def test_an_empty_cache_has_nothing_to_remove(self, tmp_path: Path) -> None:
        assert ClipCache(tmp_path / "none").remove_naming(["Edda Kolm"]) == 0
