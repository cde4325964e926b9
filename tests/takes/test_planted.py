"""Each fault planted in a take of one line is caught, by its name and with its figure."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from pyloudnorm import Meter
from scipy.io import wavfile

from cuegen.clock import samples_at
from cuegen.script.candidate import Line
from cuegen.takes.checking import CheckedTake, checked_folder
from cuegen.takes.faults import FaultKind
from cuegen.takes.speaker import FolderAsked, folder_speaker
from cuegen.voice.booth import Booth
from cuegen.voice.clip import CLIP_LUFS
from tests.takes.coach import Room, Sound, recorded, save
from tests.takes.twenty import TWENTY, twenty_sheet

pytestmark = pytest.mark.slow

TEXT = "Push evenly, each stroke the same."
USUAL = Room(gain_db=-8.0)
Plant = Callable[[Booth], Sound]


@pytest.fixture
def check(booth: Booth, tmp_path: Path) -> Callable[[Sound], CheckedTake]:
    sheet = twenty_sheet(booth)

    def check(sound: Sound) -> CheckedTake:
        (tmp_path / "takes").mkdir()
        save(tmp_path / "takes" / f"{TEXT}.wav", sound)
        asked = FolderAsked(tmp_path / "takes", stands=True, cache_dir=tmp_path / "cache")
        with folder_speaker(asked, sheet, booth) as speaker:
            (taken,) = checked_folder(speaker).takes
        return taken

    return check


def say(booth: Booth, text: str = TEXT, room: Room = USUAL) -> Sound:
    return recorded(booth.clip(Line(text)).samples, 600, 500, room)


def too_long(booth: Booth) -> Sound:
    """Return the line with a breath of two seconds in the middle."""
    sound = say(booth)
    middle = samples_at(600 + 1_050)
    pause = 1e-4 * np.random.default_rng(1).standard_normal(samples_at(2_000))
    return np.concatenate([sound[:middle], pause, sound[middle:]])


PLANTED: tuple[tuple[str, Plant, FaultKind, str], ...] = (
    ("clipped", lambda b: 12 * say(b), FaultKind.CLIPPED, "peaks are cut off at full scale"),
    (
        "too quiet",
        lambda b: say(b, room=Room(noise_dbfs=-75, gain_db=-30)),
        FaultKind.TOO_QUIET,
        "recorded at -4",
    ),
    ("noisy", lambda b: say(b, room=Room(noise_dbfs=-32)), FaultKind.NOISY, "noise lies 1"),
    ("too long", too_long, FaultKind.TOO_LONG, "its place has 3.3"),
    (
        "silent",
        lambda _: np.zeros(samples_at(2_000)),
        FaultKind.EMPTY,
        "nobody speaks (loudest nothing)",
    ),
    (
        "room only",
        lambda _: 0.01 * np.random.default_rng(5).standard_normal(samples_at(2_000)),
        FaultKind.EMPTY,
        "nobody speaks (loudest -2",
    ),
    (
        "another line of the sheet",
        lambda b: say(b, TWENTY[8 + 1]),
        FaultKind.OTHER_LINE,
        f"says line 10, '{TWENTY[9]}'",
    ),
    (
        "words that are no line",
        lambda b: say(b, "Has anybody seen my other shoe?"),
        FaultKind.OTHER_LINE,
        "says something else",
    ),
)


@pytest.mark.parametrize(
    ("plant", "kind", "figure"), [row[1:] for row in PLANTED], ids=[row[0] for row in PLANTED]
)
def test_each_planted_fault_is_caught(
    check: Callable[[Sound], CheckedTake],
    booth: Booth,
    plant: Plant,
    kind: FaultKind,
    figure: str,
) -> None:
    taken = check(plant(booth))
    assert kind in [fault.kind for fault in taken.take.faults]
    problem = next(fault.problem for fault in taken.take.faults if fault.kind is kind)
    assert figure in problem


def test_nothing_planted_is_no_fault(check: Callable[[Sound], CheckedTake], booth: Booth) -> None:
    taken = check(say(booth))
    assert taken.take.faults == ()
    assert taken.doubt == ""


def test_what_is_said_besides_the_line_is_cut_off_and_named(
    check: Callable[[Sound], CheckedTake], booth: Booth
) -> None:
    taken = check(np.concatenate([say(booth), say(booth, "Halfway.")]))
    assert taken.take.faults == ()
    assert taken.doubt == "something else is said too, at 3.6 s; it is cut off"
    assert taken.take.length_ms == pytest.approx(booth.length_ms(Line(TEXT)), abs=30)


def test_another_number_is_caught_though_it_is_no_line(booth: Booth, tmp_path: Path) -> None:
    text = "Rate up, twenty."
    save(tmp_path / f"{text}.wav", say(booth, "Rate up, twenty-two."))
    asked = FolderAsked(tmp_path, stands=True, cache_dir=tmp_path / "cache")
    with folder_speaker(asked, twenty_sheet(booth), booth) as speaker:
        (taken,) = checked_folder(speaker).takes
    assert [fault.kind for fault in taken.take.faults] == [FaultKind.OTHER_LINE]
    assert 'where "up twenty" was planned' in taken.take.faults[0].problem


def test_a_file_that_is_no_audio_is_named_and_the_others_are_checked(
    booth: Booth, tmp_path: Path
) -> None:
    (tmp_path / "1.wav").write_text("no sound at all" * 20, encoding="utf-8")
    save(tmp_path / f"{TEXT}.wav", say(booth))
    asked = FolderAsked(tmp_path, stands=True, cache_dir=tmp_path / "cache")
    with folder_speaker(asked, twenty_sheet(booth), booth) as speaker:
        checked = checked_folder(speaker)
    assert [[f.kind for f in one.take.faults] for one in checked.takes] == [
        [FaultKind.UNREADABLE],
        [],
    ]


@pytest.mark.parametrize("text", [TWENTY[0], TWENTY[2], TWENTY[9], TWENTY[16]])
def test_a_take_that_is_perfect_already_comes_through(
    booth: Booth, tmp_path: Path, text: str
) -> None:
    """Within 0.1 dB and 2 ms: the finished clip itself, as a file.

    Its end has been faded once already, so of the tail up to 10 ms under -42 dB are lost.
    """

    clip = booth.clip(Line(text)).samples
    path = tmp_path / f"{text.rstrip('.')}.wav"
    wavfile.write(path, 48_000, clip)
    sheet = twenty_sheet(booth)
    asked = FolderAsked(tmp_path, stands=True, cache_dir=tmp_path / "cache")
    with folder_speaker(asked, sheet, booth) as speaker:
        take = speaker.clip(Line(text)).samples
        (taken,) = checked_folder(speaker).takes
    assert taken.take.faults == ()
    assert taken.take.measures.hum_hz is None
    pad = np.zeros(samples_at(400))
    levels = [
        Meter(48_000).integrated_loudness(np.concatenate([pad, one, pad])) for one in (clip, take)
    ]
    assert levels[1] == pytest.approx(levels[0], abs=0.1)
    assert levels[1] == pytest.approx(CLIP_LUFS, abs=0.2)
    spectrum = np.fft.rfft(take, 2**19) * np.conj(np.fft.rfft(clip, 2**19))
    lag = int(np.argmax(np.fft.irfft(spectrum)))
    assert abs(lag if lag < 2**18 else lag - 2**19) <= samples_at(2)
    assert samples_at(-10) <= len(take) - len(clip) <= samples_at(2)
