"""Which track a hall page takes, how it is addressed, and which it refuses."""

from __future__ import annotations

import base64
from pathlib import Path

import pytest

from cuegen.errors import AudioError, OutputError
from cuegen.pages.hall_sound import find_track, sound_beside, sound_inside
from cuegen.sheet.formats import save_sheet
from tests.pages.hall_pages import short_sheet, write_track


@pytest.fixture
def track(tmp_path: Path) -> Path:
    return write_track(tmp_path / "alder.opus", 3_000)


@pytest.mark.parametrize("source", ["alder.sheet.json", "alder.json", "alder.yaml"])
def test_the_track_beside_a_sheet_or_plan_has_its_name(tmp_path: Path, source: str) -> None:
    assert find_track(tmp_path / source) is None
    (tmp_path / "alder.opus").touch()
    assert find_track(tmp_path / source) == tmp_path / "alder.opus"
    (tmp_path / "alder.mp3").touch()
    assert find_track(tmp_path / source) == tmp_path / "alder.mp3"


def test_a_track_inside_is_its_bytes(track: Path) -> None:
    sound = sound_inside(track, short_sheet())
    head, _, data = sound.source.partition(",")
    assert head == "data:audio/ogg;base64"
    assert base64.b64decode(data) == track.read_bytes()
    assert (sound.media, sound.is_beside, sound.name) == ("data:", False, "alder.opus")


@pytest.mark.parametrize(
    ("page", "source"),
    [("hall.html", "./alder.opus"), ("pages/hall.html", "./../alder.opus")],
)
def test_a_track_beside_is_addressed_from_the_page(track: Path, page: str, source: str) -> None:
    sound = sound_beside(track, short_sheet(), track.parent / page)
    assert (sound.source, sound.media, sound.is_beside) == (source, "'self' file:", True)


def test_a_name_with_marks_of_an_address_is_written_so_that_it_is_none(tmp_path: Path) -> None:
    track = write_track(tmp_path / "a 100% #1?.opus", 3_000)
    sound = sound_beside(track, short_sheet(), tmp_path / "hall.html")
    assert sound.source == "./a%20100%25%20%231%3F.opus"


@pytest.mark.parametrize("length_ms", [2_850, 3_150])
def test_a_track_of_another_length_is_refused(tmp_path: Path, length_ms: int) -> None:
    track = write_track(tmp_path / "alder.opus", length_ms)
    with pytest.raises(AudioError, match=rf"lasts {length_ms / 1000:.1f} s, the sheet 3\.0 s"):
        sound_inside(track, short_sheet())


def test_a_track_that_was_cut_is_refused(track: Path) -> None:
    track.write_bytes(track.read_bytes()[:-2_500])
    with pytest.raises(AudioError, match="this track lasts 2"):
        sound_inside(track, short_sheet())


def test_a_track_of_another_sheet_is_refused(track: Path) -> None:
    sheet = short_sheet()
    other = sheet.cues[0].model_copy(update={"text": "Something else."})
    save_sheet(sheet.model_copy(update={"cues": (other,)}), track.with_suffix(".sheet.json"))
    with pytest.raises(AudioError, match=r"made from another sheet, alder\.sheet\.json"):
        sound_inside(track, short_sheet())


def test_a_track_with_its_own_sheet_beside_it_is_taken(track: Path) -> None:
    save_sheet(short_sheet(), track.with_suffix(".sheet.json"))
    assert sound_inside(track, short_sheet()).name == "alder.opus"


def test_a_sheet_beside_that_cannot_be_read_is_no_proof(track: Path) -> None:
    track.with_suffix(".sheet.json").write_text("{", encoding="utf-8")
    with pytest.raises(AudioError, match="the sheet beside this track cannot be read"):
        sound_inside(track, short_sheet())


def test_what_is_no_track_is_refused(tmp_path: Path) -> None:
    (tmp_path / "alder.opus").write_bytes(b"no sound at all")
    with pytest.raises(AudioError, match="no audio file"):
        sound_inside(tmp_path / "alder.opus", short_sheet())
    with pytest.raises(OutputError, match=r"cannot be written as '\.txt'"):
        sound_inside(tmp_path / "alder.txt", short_sheet())
    with pytest.raises(AudioError, match="no such audio file"):
        sound_inside(tmp_path / "none.mp3", short_sheet())
