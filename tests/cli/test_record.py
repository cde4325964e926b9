"""`cuegen takes record`: its address, its browser, its end; takes that name a rower are noted."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import urllib.error
import urllib.request
from pathlib import Path

import pytest

from cuegen.recorder.server import RecorderServer
from cuegen.schedule.cuesheet import CueSheet
from cuegen.sheet.formats import save_sheet
from tests.cli.running import CommandLine
from tests.cli.test_interrupt import RUN
from tests.recorder.served import german_sheet, wav_bytes


def finished_sheet() -> CueSheet:
    made = german_sheet()
    return made.model_copy(update={"sound": made.sound.model_copy(update={"voice": "small"})})


def stop_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(_server: RecorderServer, poll_interval: float) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(RecorderServer, "serve_forever", interrupted)


def test_it_has_help(cuegen: CommandLine) -> None:
    ran = cuegen.run("takes", "record", "--help")
    assert ran.code == 0
    assert "--into" in ran.out
    assert "--no-open" in ran.out


def test_the_address_is_printed_and_opened(
    cuegen: CommandLine, monkeypatch: pytest.MonkeyPatch
) -> None:
    stop_at_once(monkeypatch)
    opened, told = [], threading.Event()

    def note(address: str) -> None:
        opened.append(address)
        told.set()

    monkeypatch.setattr("webbrowser.open", note)
    save_sheet(finished_sheet(), Path("a.sheet.json"))
    ran = cuegen.run("takes", "record", "a.sheet.json", "--into", "t")
    assert ran.code == 0, ran.err
    address, done = ran.out.splitlines()
    assert told.wait(30)
    assert opened == [address]
    assert address.startswith("http://127.0.0.1:")
    assert done == "0 of 3 lines have a take in t"
    assert cuegen.names() == {"a.sheet.json"}


def test_no_browser_is_opened_where_none_is_wanted(
    cuegen: CommandLine, monkeypatch: pytest.MonkeyPatch
) -> None:
    stop_at_once(monkeypatch)
    monkeypatch.setattr("webbrowser.open", lambda _: pytest.fail("opened"))
    save_sheet(finished_sheet(), Path("a.sheet.json"))
    ran = cuegen.run("takes", "record", "a.sheet.json", "--into", "t", "--no-open")
    assert ran.code == 0
    assert "its address is for you alone" in ran.err


def test_a_file_in_the_place_of_the_folder_is_said(cuegen: CommandLine) -> None:
    save_sheet(finished_sheet(), Path("a.sheet.json"))
    cuegen.write("t", "in the way")
    ran = cuegen.run("takes", "record", "a.sheet.json", "--into", "t", "--no-open")
    assert ran.code == 2
    assert "t: this is a file, not a folder of takes" in ran.err


def test_a_take_that_names_the_rower_is_noted_and_no_other(
    cuegen: CommandLine, monkeypatch: pytest.MonkeyPatch
) -> None:
    noted: list[tuple[list[Path], str | None]] = []
    monkeypatch.setattr("cuegen.cli.record.note_made", lambda p, who, _: noted.append((p, who)))
    made = finished_sheet()
    first = made.cues[0].model_copy(update={"text": "Und los, Maren."})
    made = made.model_copy(update={"rower": "Maren", "cues": (first, *made.cues[1:])})

    def keep_two(server: RecorderServer, poll_interval: float) -> None:
        for number in (1, 2):
            server.store.keep(number, wav_bytes())
        raise KeyboardInterrupt

    monkeypatch.setattr(RecorderServer, "serve_forever", keep_two)
    save_sheet(made, Path("a.sheet.json"))
    ran = cuegen.run("takes", "record", "a.sheet.json", "--into", "t", "--no-open")
    assert ran.out.splitlines()[-1] == "2 of 3 lines have a take in t"
    (files, who) = noted[0]
    assert (len(noted), who) == (1, "Maren")
    assert [path.name.startswith("und-los-maren-") for path in files] == [True]


@pytest.mark.slow
def test_ctrl_c_ends_it_cleanly_and_says_how_far_it_went(tmp_path: Path) -> None:
    save_sheet(finished_sheet(), tmp_path / "a.sheet.json")
    process = subprocess.Popen(
        [sys.executable, "-c", RUN, "takes", "record", "a.sheet.json", "--into", "t", "--no-open"],
        cwd=tmp_path,
        env=os.environ | {"PYTHONUNBUFFERED": "1"},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    try:
        assert process.stdout is not None
        address = process.stdout.readline().strip()
        with urllib.request.urlopen(address) as answer:
            assert "Und los geht es." in answer.read().decode()
        origin = "/".join(address.split("/")[:3])
        headers = {"Origin": origin, "Content-Type": "audio/wav"}
        sent = urllib.request.Request(f"{address}take/1", wav_bytes(), headers)
        with urllib.request.urlopen(sent) as answer:
            assert answer.status == 200
        os.killpg(process.pid, signal.SIGINT)
        out, err = process.communicate(timeout=60)
    finally:
        process.kill()
    assert (process.returncode, out) == (0, "1 of 3 lines have a take in t\n")
    assert "Traceback" not in err
    assert len(list((tmp_path / "t").iterdir())) == 1
    with pytest.raises(urllib.error.URLError):
        urllib.request.urlopen(address)
