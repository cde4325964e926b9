"""A voice's process: what it says arrives whole, and it is survived when it does not."""

from __future__ import annotations

import itertools
import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import numpy as np
import pytest

from cuegen.errors import VoiceError
from cuegen.script.candidate import Line
from cuegen.voice.process import AHEAD, Ask, Spoken, VoiceProcess
from tests.voice.engines_for_tests import (
    RATE,
    CrashingAtStartEngine,
    CrashingEngine,
    CrashingOnceEngine,
    HangingEngine,
    PrintingEngine,
    RefusingEngine,
    SteadyEngine,
    UnhurriedEngine,
    UnloadableEngine,
    choice_of,
    steady_sound,
)

needs_proc = pytest.mark.skipif(sys.platform != "linux", reason="reads /proc")


def _asks(*texts: str) -> list[Ask]:
    return [Ask(Line(text), text) for text in texts]


def _speak(process: VoiceProcess, ask: Ask) -> Spoken:
    process.give(ask)
    return process.take()


def _speak_all(process: VoiceProcess, *texts: str) -> list[Spoken]:
    """Return the lines, all of them given before the first is taken."""
    for ask in _asks(*texts):
        process.give(ask)
    return [process.take() for _ in texts]


def _starts(journal: Path) -> int:
    return len(journal.read_text().splitlines())


def test_every_line_arrives_bit_for_bit_in_order_from_one_worker(tmp_path: Path) -> None:
    journal = tmp_path / "journal"
    texts = [f"Line number {number}." for number in range(20)]
    with VoiceProcess(choice_of(SteadyEngine, journal)) as process:
        assert process.pid is None
        spoken = _speak_all(process, *texts)
    assert [one.line.text for one in spoken] == texts
    assert all(np.array_equal(one.samples, steady_sound(one.line.text)) for one in spoken)
    assert {one.sample_rate for one in spoken} == {RATE}
    assert _starts(journal) == 1


def test_the_speed_of_a_line_reaches_the_engine() -> None:
    with VoiceProcess(choice_of(SteadyEngine)) as process:
        spoken = _speak(process, Ask(Line("Hold it.", 1.12), "Hold it."))
    assert len(spoken.samples) == len(steady_sound("Hold it.", 1.12))


def test_what_the_engine_is_given_may_differ_from_the_line() -> None:
    with VoiceProcess(choice_of(SteadyEngine)) as process:
        spoken = _speak(process, Ask(Line("bow"), "bough"))
    assert spoken.line.text == "bow"
    assert np.array_equal(spoken.samples, steady_sound("bough"))


def test_prints_of_the_engine_disturb_nothing() -> None:
    with VoiceProcess(choice_of(PrintingEngine)) as process:
        for spoken in _speak_all(process, "One.", "Two.", "Three."):
            assert np.array_equal(spoken.samples, steady_sound(spoken.line.text))


def test_a_worker_that_dies_is_started_again_and_the_line_sent_once_more(tmp_path: Path) -> None:
    journal = tmp_path / "journal"
    with VoiceProcess(choice_of(CrashingOnceEngine, journal)) as process:
        spoken = _speak_all(process, "One.", "Two.", "Three.")
    assert [one.line.text for one in spoken] == ["One.", "Two.", "Three."]
    assert all(np.array_equal(one.samples, steady_sound(one.line.text)) for one in spoken)
    assert _starts(journal) == 2


def test_a_worker_that_dies_again_is_given_up_with_voice_line_and_last_words(
    tmp_path: Path,
) -> None:
    journal = tmp_path / "journal"
    with VoiceProcess(choice_of(CrashingEngine, journal)) as process:
        assert _speak(process, _asks("One.")[0]).line.text == "One."
        with pytest.raises(VoiceError, match="'fake' stopped twice") as caught:
            _speak(process, _asks("Two.")[0])
        assert caught.value.where.text == "Two."
        assert "exit code 7: the engine met a wall" in caught.value.problem
        assert _starts(journal) == 2
        assert _speak(process, _asks("Three.")[0]).line.text == "Three."


def test_a_worker_that_dies_while_loading_is_given_up_after_two_starts(tmp_path: Path) -> None:
    journal = tmp_path / "journal"
    with (
        VoiceProcess(choice_of(CrashingAtStartEngine, journal)) as process,
        pytest.raises(VoiceError, match=r"stopped twice at this line \(exit code 9\)"),
    ):
        _speak(process, _asks("One.")[0])
    assert _starts(journal) == 2


def test_a_worker_killed_between_two_lines_is_not_missed(tmp_path: Path) -> None:
    journal = tmp_path / "journal"
    with VoiceProcess(choice_of(SteadyEngine, journal)) as process:
        _speak(process, _asks("One.")[0])
        assert process.pid is not None
        os.kill(process.pid, signal.SIGKILL)
        assert np.array_equal(_speak(process, _asks("Two.")[0]).samples, steady_sound("Two."))
    assert _starts(journal) == 2


@pytest.mark.slow
def test_a_line_that_never_ends_is_given_up_after_two_allowances(tmp_path: Path) -> None:
    journal = tmp_path / "journal"
    voice = choice_of(HangingEngine, journal)
    with VoiceProcess(voice, line_timeout_s=0.2) as process:
        with pytest.raises(VoiceError, match="stopped twice at this line: no answer within 1 s"):
            _speak(process, _asks("Two.")[0])
        assert _speak(process, _asks("One.")[0]).line.text == "One."
    assert _starts(journal) == 3


@pytest.mark.parametrize(
    ("text", "why"),
    [("Two.", "this engine counts no twos"), ("Three.", "ZeroDivisionError: three by nothing")],
)
def test_what_the_engine_refuses_is_told_at_once_and_not_tried_again(
    tmp_path: Path, text: str, why: str
) -> None:
    journal = tmp_path / "journal"
    with VoiceProcess(choice_of(RefusingEngine, journal)) as process:
        with pytest.raises(VoiceError, match=f"could not speak this line: {why}") as caught:
            _speak(process, _asks(text)[0])
        assert caught.value.where.text == text
        assert _speak(process, _asks("One.")[0]).line.text == "One."
    assert _starts(journal) == 1


def test_the_remedy_of_an_engine_reaches_the_coach() -> None:
    with VoiceProcess(choice_of(RefusingEngine)) as process, pytest.raises(VoiceError) as caught:
        _speak(process, _asks("Two.")[0])
    assert caught.value.remedy == "Say: a pair."


def test_an_engine_that_cannot_be_loaded_is_told_and_not_started_again() -> None:
    with (
        VoiceProcess(choice_of(UnloadableEngine)) as process,
        pytest.raises(VoiceError, match="'fake' cannot be used: its voice file is torn") as caught,
    ):
        _speak(process, _asks("One.")[0])
    assert caught.value.remedy == "Get it once more."


def test_lines_nobody_waited_for_are_not_taken_for_others() -> None:
    with VoiceProcess(choice_of(SteadyEngine)) as process:
        for ask in _asks("One.", "Two.", "Three."):
            process.give(ask)
        assert process.take().line.text == "One."
        process.forget()
        assert process.untaken == 0
        four = _speak(process, _asks("Four.")[0])
        assert np.array_equal(four.samples, steady_sound("Four."))


def test_ctrl_c_does_not_reach_the_worker() -> None:
    with VoiceProcess(choice_of(SteadyEngine)) as process:
        _speak(process, _asks("One.")[0])
        pid = process.pid
        assert pid is not None
        os.kill(pid, signal.SIGINT)
        _speak(process, _asks("Two.")[0])
        assert process.pid == pid
        assert os.getpgid(pid) != os.getpgid(0)


def test_start_does_not_wait_until_the_engine_is_loaded(tmp_path: Path) -> None:
    journal = tmp_path / "journal"
    with VoiceProcess(choice_of(SteadyEngine, journal)) as process:
        process.start()
        pid = process.pid
        assert pid is not None
        assert not journal.exists()
        process.start()
        assert _speak(process, _asks("One.")[0]).line.text == "One."
        assert process.pid == pid
    assert _starts(journal) == 1


@needs_proc
def test_close_ends_worker_and_folder_at_once() -> None:
    process = VoiceProcess(choice_of(SteadyEngine))
    _speak(process, _asks("One.")[0])
    pid = process.pid
    assert pid is not None
    folder = _scratch(pid)
    assert folder.is_dir()
    start = time.monotonic()
    process.close()
    assert time.monotonic() - start < 1
    assert not _runs(pid)
    assert not folder.exists()


@needs_proc
def test_close_does_not_wait_for_an_engine_that_hangs() -> None:
    process = VoiceProcess(choice_of(HangingEngine))
    for ask in _asks("One.", "Two."):
        process.give(ask)
    process.take()
    pid = process.pid
    assert pid is not None
    start = time.monotonic()
    process.close()
    assert time.monotonic() - start < 2
    assert not _runs(pid)


_PARENT = """
import sys, time
from cuegen.script.candidate import Line
from cuegen.voice.process import Ask, VoiceProcess
from tests.voice.engines_for_tests import HangingEngine, choice_of
process = VoiceProcess(choice_of(HangingEngine))
for text in sys.argv[1:]:
    process.give(Ask(Line(text), text))
process.take()
print(process.pid, flush=True)
time.sleep(600)
"""


@needs_proc
@pytest.mark.parametrize("second", ["Three.", "Two."], ids=["idle", "in the middle of a line"])
def test_no_worker_outlives_a_parent_that_was_killed(second: str) -> None:
    command = [sys.executable, "-c", _PARENT, "One.", second]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as parent:
        assert parent.stdout is not None
        worker = int(parent.stdout.readline())
        folder = _scratch(worker)
        assert _runs(worker)
        parent.kill()
    deadline = time.monotonic() + 5
    while _runs(worker) and time.monotonic() < deadline:
        time.sleep(0.02)
    assert not _runs(worker)
    assert not folder.exists()


def _scratch(pid: int) -> Path:
    """Return the folder a worker was given, the third of its arguments."""
    return Path(Path(f"/proc/{pid}/cmdline").read_bytes().split(b"\0")[-3].decode())


def _runs(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except FileNotFoundError:
        return False


MANY = [f"Line {'long ' * (number % 5)}number {number}." for number in range(60)]
CAREFULLY = [*MANY[:30], "Two.", *MANY[30:]]


def _assert_spoken(spoken: list[Spoken], texts: list[str]) -> None:
    assert [one.line.text for one in spoken] == texts
    assert all(np.array_equal(one.samples, steady_sound(one.line.text)) for one in spoken)


def _overlaps(notes: Path) -> bool:
    """Return whether any two lines of an UnhurriedEngine were spoken at the same time."""
    spans = sorted(tuple(map(float, line.split()[1:])) for line in notes.read_text().splitlines())
    assert len(spans) == len(MANY)
    return any(early[1] > late[0] for early, late in itertools.pairwise(spans))


@pytest.mark.parametrize(
    ("side_by_side", "cores", "overlap"), [(True, 2, True), (True, 1, False), (False, 2, False)]
)
def test_lines_are_spoken_side_by_side_where_voice_and_cores_allow_and_come_in_order(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    side_by_side: bool,
    cores: int,
    overlap: bool,
) -> None:
    monkeypatch.setattr("cuegen.voice.process.cores", lambda: cores)
    voice = choice_of(UnhurriedEngine, tmp_path / "journal", side_by_side=side_by_side)
    with VoiceProcess(voice) as process:
        _assert_spoken(list(process.speak_all(_asks(*MANY))), MANY)
    assert _overlaps(tmp_path / "notes") is overlap
    assert _starts(tmp_path / "journal") == 1


def test_no_lines_start_nothing() -> None:
    with VoiceProcess(choice_of(SteadyEngine)) as process:
        assert list(process.speak_all([])) == []
        assert process.pid is None


def test_the_worker_starts_before_the_first_line_is_taken(tmp_path: Path) -> None:
    """What its caller needs meanwhile can be loaded."""
    with VoiceProcess(choice_of(SteadyEngine)) as process:
        process.speak_all(_asks("One."))
        assert process.pid is not None


def test_what_waits_for_the_caller_is_bounded() -> None:
    most = 0
    with VoiceProcess(choice_of(SteadyEngine, side_by_side=True)) as process:
        for _ in process.speak_all(_asks(*MANY)):
            time.sleep(0.01)
            most = max(most, process.untaken)
    assert most == AHEAD - 1  # and the one that was taken


def test_lines_under_way_when_a_worker_dies_are_spoken_by_the_next(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("cuegen.voice.process.cores", lambda: 2)
    voice = choice_of(CrashingOnceEngine, tmp_path / "journal", side_by_side=True)
    with VoiceProcess(voice) as process:
        _assert_spoken(list(process.speak_all(_asks(*CAREFULLY))), CAREFULLY)
    assert _starts(tmp_path / "journal") == 2


def test_the_line_at_which_a_worker_dies_is_told_and_not_the_one_beside_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("cuegen.voice.process.cores", lambda: 2)
    heard: list[Spoken] = []
    voice = choice_of(CrashingEngine, tmp_path / "journal", side_by_side=True)
    with VoiceProcess(voice) as process:
        with pytest.raises(VoiceError, match=r"stopped twice at this line \(exit code 7") as caught:
            heard.extend(process.speak_all(_asks(*CAREFULLY)))
        assert caught.value.where.text == "Two."
        _assert_spoken(heard, MANY[:30])
        _assert_spoken(list(process.speak_all(_asks(*MANY))), MANY)


def test_what_an_engine_refuses_is_told_as_in_turn_after_all_before_it(tmp_path: Path) -> None:
    told = []
    for side_by_side in (False, True):
        heard: list[str] = []
        voice = choice_of(RefusingEngine, tmp_path / "journal", side_by_side=side_by_side)
        with VoiceProcess(voice) as process, pytest.raises(VoiceError) as caught:
            heard.extend(spoken.line.text for spoken in process.speak_all(_asks(*CAREFULLY)))
        assert heard == MANY[:30]
        told.append((caught.value.problem, caught.value.where, caught.value.remedy))
    assert told[0] == told[1]
    assert told[0][0].endswith("could not speak this line: this engine counts no twos")


def test_lines_of_an_earlier_call_are_not_taken_for_others() -> None:
    with VoiceProcess(choice_of(SteadyEngine, side_by_side=True)) as process:
        assert len(list(itertools.islice(process.speak_all(_asks(*MANY)), 40))) == 40
        other = [f"Other {text}" for text in MANY]
        _assert_spoken(list(process.speak_all(_asks("Four."))), ["Four."])
        _assert_spoken(list(process.speak_all(_asks(*other))), other)


@needs_proc
def test_close_ends_a_stopped_worker_in_about_a_second_and_leaves_no_thread() -> None:
    """A stopped process cannot even see that its pipe was closed."""
    threads = threading.active_count()
    process = VoiceProcess(choice_of(SteadyEngine, side_by_side=True))
    next(process.speak_all(_asks(*MANY)))
    pid = process.pid
    assert pid is not None
    os.kill(pid, signal.SIGSTOP)
    start = time.monotonic()
    process.close()
    assert time.monotonic() - start < 1.8
    assert not _runs(pid)
    assert threading.active_count() == threads
