"""One long recording: cut at its pauses, every stretch matched, what is unsure named."""

from __future__ import annotations

import random
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from scipy.io import wavfile

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.dsp.decode import read_audio
from cuegen.errors import AudioError, TakeError
from cuegen.script.candidate import Line
from cuegen.takes.checking import checked_folder
from cuegen.takes.cutout import UNSURE, CutOut, cut_into
from cuegen.takes.cuts import Piece
from cuegen.takes.cutting import MARGIN_MS, kept_span
from cuegen.takes.names import take_name
from cuegen.takes.speaker import FolderAsked, folder_speaker
from cuegen.voice.booth import Booth
from tests.takes.coach import Room, Sound, in_room, lag_ms, save
from tests.takes.twenty import TWENTY, twenty_sheet

ROOM = Room(mains=50.03, hum=1.0, noise_dbfs=-65.0, offset=0.01, gain_db=-9.0)


def reading(booth: Booth, texts: Sequence[str]) -> tuple[Sound, list[int]]:
    """Return lines read one after the other, 0.8 to 2.5 s apart, and where each clip begins."""
    rng = random.Random(7)
    parts, starts = [np.zeros(samples_at(900))], []
    for text in texts:
        starts.append(sum(len(part) for part in parts) * 1000 // SAMPLE_RATE)
        pause = np.zeros(samples_at(rng.randint(800, 2_500)))
        parts += [booth.clip(Line(text)).samples.astype(np.float64), pause]
    return in_room(np.concatenate(parts), ROOM), starts


def cut(booth: Booth, texts: Sequence[str], folder: Path) -> tuple[CutOut, list[int]]:
    sound, starts = reading(booth, texts)
    save(folder / "long.wav", sound)
    return cut_into(folder / "long.wav", twenty_sheet(booth), folder / "takes"), starts


@pytest.mark.slow
def test_twenty_lines_are_cut_matched_and_each_lies_on_its_word(
    booth: Booth, tmp_path: Path
) -> None:
    done, starts = cut(booth, TWENTY, tmp_path)
    assert [take.text for take in done.cutting.taken] == list(TWENTY)
    assert (done.cutting.unsure, done.cutting.missing, done.cutting.left) == ((), (), ())
    for take, start in zip(done.cutting.taken, starts, strict=True):
        assert take.start_ms == pytest.approx(start + 10, abs=60)
    asked = FolderAsked(tmp_path / "takes", stands=True, cache_dir=tmp_path / "cache")
    with folder_speaker(asked, twenty_sheet(booth), booth) as speaker:
        assert checked_folder(speaker).faulty == ()
        lags = [
            lag_ms(speaker.clip(Line(text)).samples, booth.clip(Line(text)).samples)
            for text in TWENTY
        ]
    assert max(abs(lag) for lag in lags) < 20


@pytest.mark.slow
def test_slips_retakes_strangers_and_gaps_are_told_apart(booth: Booth, tmp_path: Path) -> None:
    """Lines 3 and 12 are not read; 7 twice, at once; 1 again at the end; a remark between."""
    texts = [text for n, text in enumerate(TWENTY) if n not in (3, 12)]
    remark = "Sorry, has anybody seen my other shoe?"
    at = texts.index(TWENTY[7])
    spoken = [*texts[: at + 1], TWENTY[7], remark, *texts[at + 1 :], TWENTY[1]]
    done, starts = cut(booth, spoken, tmp_path)
    assert [take.text for take in done.cutting.taken] == texts
    assert [line.text for line in done.cutting.missing] == [TWENTY[3], TWENTY[12]]
    places = {take.text: take.start_ms for take in done.cutting.taken}
    assert places[TWENTY[7]] == pytest.approx(starts[at + 1] + 10, abs=60)
    assert places[TWENTY[1]] == pytest.approx(starts[-1] + 10, abs=60)
    again = {take.text: take.start_ms for take in done.cutting.superseded}
    assert again[TWENTY[7]] == pytest.approx(starts[at] + 10, abs=60)
    assert again[TWENTY[1]] == pytest.approx(starts[1] + 10, abs=60)
    # The remark is no take: it is left, or named as unsure.
    heard = [(piece.start_ms, piece.end_ms) for piece in done.cutting.left]
    heard += [(take.start_ms, take.end_ms) for take in done.cutting.unsure]
    assert any(start - 100 < starts[at + 2] + 10 < end for start, end in heard)


@pytest.mark.slow
def test_what_is_cut_is_as_it_was_recorded(booth: Booth, tmp_path: Path) -> None:
    """Sample for sample, at the recording's own rate and with both of its channels."""
    sound, _ = reading(booth, TWENTY[6:9])
    sides = np.stack([sound, 0.9 * sound], axis=1)[::2]
    save(tmp_path / "long.wav", sides, rate=24_000)
    done = cut_into(tmp_path / "long.wav", twenty_sheet(booth), tmp_path / "takes")
    (_, whole) = wavfile.read(tmp_path / "long.wav")
    for take in done.cutting.taken:
        rate, piece = wavfile.read(done.files[take])
        assert rate == 24_000
        assert piece.shape[1] == 2
        first = next(p for p in done.cutting.pieces if p.start_ms == take.start_ms)
        last = next(p for p in done.cutting.pieces if p.end_ms == take.end_ms)
        start_ms, _ = kept_span(done.cutting.pieces, first, last)
        start = samples_at(start_ms, 24_000)
        original = whole[start : start + len(piece)].astype(np.int64) << 16
        assert np.abs(piece - original).max() <= 1 << 9


@pytest.mark.slow
def test_takes_that_are_there_are_left_alone_unless_they_are_to_be_replaced(
    booth: Booth, tmp_path: Path
) -> None:
    (tmp_path / "takes").mkdir()
    own = save(tmp_path / "takes" / "Halfway You know this one now.wav", np.zeros(1_000))
    sound, _ = reading(booth, TWENTY[15:17])
    save(tmp_path / "long.wav", sound)
    sheet = twenty_sheet(booth)
    done = cut_into(tmp_path / "long.wav", sheet, tmp_path / "takes")
    assert done.kept == (take_name(TWENTY[15]),)
    assert {path.name for path in (tmp_path / "takes").iterdir()} == {
        own.name,
        f"{take_name(TWENTY[16])}.wav",
    }
    again = cut_into(tmp_path / "long.wav", sheet, tmp_path / "takes", replace_them=True)
    assert again.kept == ()
    assert (tmp_path / "takes" / f"{take_name(TWENTY[15])}.wav").is_file()


@pytest.mark.slow
def test_what_is_unsure_lies_apart_and_is_no_take(booth: Booth, tmp_path: Path) -> None:
    """Two words of five are others than planned: nobody is sure, and nobody guesses."""
    spoken = [TWENTY[7], "Push evenly, each window the same.", TWENTY[9]]
    done, _ = cut(booth, spoken, tmp_path)
    assert [take.text for take in done.cutting.taken] == [TWENTY[7], TWENTY[9]]
    assert [take.text for take in done.cutting.unsure] == [TWENTY[8]]
    unsure = done.files[done.cutting.unsure[0]]
    assert unsure.parent == tmp_path / "takes" / UNSURE
    assert unsure.name == f"01-maybe-{take_name(TWENTY[8])}.wav"
    assert len(read_audio(unsure)) > samples_at(1_500)


def test_a_margin_is_half_a_pause_at_most() -> None:
    pieces = (Piece(2_000, 3_000), Piece(3_400, 4_000), Piece(6_000, 7_000))
    assert kept_span(pieces, pieces[0], pieces[0]) == (2_000 - MARGIN_MS, 3_200)
    assert kept_span(pieces, pieces[1], pieces[2]) == (3_200, 7_000 + MARGIN_MS)
    assert kept_span(pieces, pieces[2], pieces[2]) == (6_000 - MARGIN_MS, 7_000 + MARGIN_MS)
    assert kept_span((Piece(100, 900),), Piece(100, 900), Piece(100, 900)) == (0, 900 + MARGIN_MS)


@pytest.mark.slow
def test_silence_holds_no_line(booth: Booth, tmp_path: Path) -> None:
    save(tmp_path / "long.wav", in_room(np.zeros(samples_at(5_000)), ROOM))
    done = cut_into(tmp_path / "long.wav", twenty_sheet(booth), tmp_path / "takes")
    assert (done.cutting.taken, done.cutting.left) == ((), ())
    assert len(done.cutting.missing) == 20


@pytest.mark.slow
def test_another_language_is_refused_before_any_work(booth: Booth, tmp_path: Path) -> None:
    sheet = twenty_sheet(booth)
    german = sheet.model_copy(update={"sound": sheet.sound.model_copy(update={"language": "de"})})
    with pytest.raises(TakeError, match=r"x\.wav: a long recording can be cut into English"):
        cut_into(tmp_path / "x.wav", german, tmp_path / "takes")


@pytest.mark.slow
def test_a_recording_that_is_not_there_is_named(booth: Booth, tmp_path: Path) -> None:
    with pytest.raises(AudioError, match=r"x\.wav: there is no such audio file"):
        cut_into(tmp_path / "x.wav", twenty_sheet(booth), tmp_path / "takes")
