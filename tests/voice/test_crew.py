"""A crew: many lines shared between processes come back as from one, whatever befalls them."""

from __future__ import annotations

import itertools
import os
import signal
import sys
import threading
import time
from pathlib import Path

import numpy as np
import pytest

from cuegen.errors import VoiceError
from cuegen.script.candidate import Line
from cuegen.voice import crew as crew_module
from cuegen.voice.crew import MOST, UNTAKEN, Crew
from cuegen.voice.process import Ask, Spoken
from tests.voice.engines_for_tests import (
    RATE,
    CrashingEngine,
    CrashingOnceInAllEngine,
    LoadingOnceEngine,
    LoadingSlowlyEngine,
    RefusingEngine,
    SteadyEngine,
    UnhurriedEngine,
    UnloadableEngine,
    choice_of,
    steady_sound,
)

MANY = [f"Line {'long ' * (number % 5)}number {number}." for number in range(60)]


def _asks(*texts: str) -> list[Ask]:
    return [Ask(Line(text), text) for text in texts]


def _starts(journal: Path) -> int:
    return len(journal.read_text().splitlines())


def _crew(engine: type, journal: Path, *, lines_per_process: int | None = 10) -> Crew:
    return Crew(choice_of(engine, journal, lines_per_process), most=2)


def _assert_spoken(spoken: list[Spoken], texts: list[str]) -> None:
    assert [one.line.text for one in spoken] == texts
    assert all(np.array_equal(one.samples, steady_sound(one.line.text)) for one in spoken)
    assert {one.sample_rate for one in spoken} == {RATE}


def test_lines_of_two_processes_arrive_bit_for_bit_in_the_order_asked_for(tmp_path: Path) -> None:
    journal = tmp_path / "journal"
    with _crew(UnhurriedEngine, journal) as crew:
        spoken = list(crew.speak_all(_asks(*MANY)))
        assert len(set(crew.pids)) == 2
    _assert_spoken(spoken, MANY)
    assert _starts(journal) == 2


def test_two_processes_speak_at_the_same_time_and_each_line_once(tmp_path: Path) -> None:
    with _crew(UnhurriedEngine, tmp_path / "journal") as crew:
        lines = crew.speak_all(_asks(*MANY))
        next(lines)
        _wait_until_all_are_loaded(crew)
        assert len(list(lines)) == len(MANY) - 1
    notes = [line.split() for line in (tmp_path / "notes").read_text().splitlines()]
    assert len(notes) == len(MANY)
    times = [(pid, float(begin), float(end)) for pid, begin, end in notes]
    assert any(
        one[0] != other[0] and one[1] < other[2] and other[1] < one[2]
        for one, other in itertools.combinations(times, 2)
    )


@pytest.mark.parametrize(("lines", "starts"), [(1, 1), (19, 1), (20, 2), (60, 2)])
def test_a_process_more_is_started_only_for_the_lines_it_is_worth(
    tmp_path: Path, lines: int, starts: int
) -> None:
    journal = tmp_path / "journal"
    with _crew(SteadyEngine, journal) as crew:
        for one in crew.speak_all(_asks(*MANY[:lines])):
            assert one.line.text in MANY
            assert len(crew.pids) == starts


def test_a_voice_that_is_not_shared_out_has_one_process(tmp_path: Path) -> None:
    journal = tmp_path / "journal"
    with _crew(SteadyEngine, journal, lines_per_process=None) as crew:
        _assert_spoken(list(crew.speak_all(_asks(*MANY))), MANY)
    assert _starts(journal) == 1


@pytest.mark.parametrize(("cores", "most"), [(1, 1), (2, 2), (64, MOST)])
def test_there_are_no_more_processes_than_cores(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, cores: int, most: int
) -> None:
    monkeypatch.setattr(crew_module, "_cores", lambda: cores)
    with Crew(choice_of(SteadyEngine, tmp_path / "journal", lines_per_process=1)) as crew:
        next(crew.speak_all(_asks(*MANY)))
        assert len(crew.pids) == most


def test_no_lines_start_nothing(tmp_path: Path) -> None:
    with _crew(SteadyEngine, tmp_path / "journal") as crew:
        assert list(crew.speak_all([])) == []
        assert crew.pids == []


def test_what_waits_for_the_caller_is_bounded(tmp_path: Path) -> None:
    most = 0
    with _crew(SteadyEngine, tmp_path / "journal", lines_per_process=1) as crew:
        for _ in crew.speak_all(_asks(*MANY)):
            time.sleep(0.01)
            most = max(most, *(process.untaken for process in crew._processes))
    assert most == UNTAKEN


def test_a_process_that_dies_is_started_again_and_its_lines_are_not_missed(tmp_path: Path) -> None:
    journal = tmp_path / "journal"
    texts = [*MANY[:30], "Two.", *MANY[30:]]
    with _crew(CrashingOnceInAllEngine, journal) as crew:
        _assert_spoken(list(crew.speak_all(_asks(*texts))), texts)
    assert _starts(journal) == 3


def test_a_line_at_which_two_processes_die_is_told_and_the_rest_is_spoken(tmp_path: Path) -> None:
    heard: list[Spoken] = []
    with _crew(CrashingEngine, tmp_path / "journal") as crew:
        with pytest.raises(VoiceError, match=r"stopped twice at this line \(exit code 7") as caught:
            heard.extend(crew.speak_all(_asks(*MANY[:30], "Two.", *MANY[30:])))
        assert caught.value.where.text == "Two."
        _assert_spoken(heard, MANY[:30])
        _assert_spoken(list(crew.speak_all(_asks(*MANY))), MANY)


def test_what_the_engine_refuses_is_told_as_by_one_process_after_all_before_it(
    tmp_path: Path,
) -> None:
    texts = [*MANY[:30], "Two.", *MANY[30:]]
    told = []
    for most in (1, 2):
        heard: list[str] = []
        voice = choice_of(RefusingEngine, tmp_path / "journal", lines_per_process=10)
        with Crew(voice, most=most) as crew, pytest.raises(VoiceError) as caught:
            heard.extend(spoken.line.text for spoken in crew.speak_all(_asks(*texts)))
        assert heard == MANY[:30]
        told.append((caught.value.problem, caught.value.where, caught.value.remedy))
    assert told[0] == told[1]
    assert told[0][0].endswith("could not speak this line: this engine counts no twos")


def test_an_engine_that_cannot_be_loaded_is_told(tmp_path: Path) -> None:
    with (
        _crew(UnloadableEngine, tmp_path / "journal") as crew,
        pytest.raises(VoiceError, match="'fake' cannot be used: its voice file is torn"),
    ):
        next(crew.speak_all(_asks(*MANY)))


def test_a_second_process_that_does_not_load_is_not_missed(tmp_path: Path) -> None:
    journal = tmp_path / "journal"
    with _crew(LoadingOnceEngine, journal) as crew:
        _assert_spoken(list(crew.speak_all(_asks(*MANY))), MANY)
    assert _starts(journal) in (2, 3)  # 3 where the one that dies is the first of the crew


@pytest.mark.slow
def test_a_second_process_that_never_finishes_loading_holds_nothing_up(tmp_path: Path) -> None:
    journal = tmp_path / "journal"
    voice = choice_of(LoadingSlowlyEngine, journal, lines_per_process=10)
    with Crew(voice, most=2) as crew:
        next(crew.speak_all(_asks("One.")))
        _assert_spoken(list(crew.speak_all(_asks(*MANY))), MANY)
        assert _starts(journal) == 2
        start = time.monotonic()
    assert time.monotonic() - start < 2


def test_lines_nobody_took_are_not_taken_for_others(tmp_path: Path) -> None:
    with _crew(UnhurriedEngine, tmp_path / "journal") as crew:
        assert len(list(itertools.islice(crew.speak_all(_asks(*MANY)), 40))) == 40
        other = [f"Other {text}" for text in MANY]
        _assert_spoken(list(crew.speak_all(_asks("Four."))), ["Four."])
        _assert_spoken(list(crew.speak_all(_asks(*other))), other)


@pytest.mark.skipif(sys.platform != "linux", reason="reads /proc")
def test_close_ends_two_that_hang_in_about_a_second_and_leaves_no_thread(tmp_path: Path) -> None:
    """Stopped processes cannot even see that their pipe was closed."""
    threads = threading.active_count()
    crew = _crew(SteadyEngine, tmp_path / "journal", lines_per_process=1)
    next(crew.speak_all(_asks(*MANY)))
    _wait_until_all_are_loaded(crew)
    pids = crew.pids
    assert len(pids) == 2
    for pid in pids:
        os.kill(pid, signal.SIGSTOP)
    start = time.monotonic()
    crew.close()
    assert time.monotonic() - start < 1.8
    assert crew.pids == []
    assert not any(Path(f"/proc/{pid}").exists() for pid in pids)
    assert threading.active_count() == threads


def _wait_until_all_are_loaded(crew: Crew) -> None:
    deadline = time.monotonic() + 30
    while not all(one.is_loaded for one in crew._processes) and time.monotonic() < deadline:
        time.sleep(0.01)
    assert all(one.is_loaded for one in crew._processes)
