"""The recorder's server over real connections: what it gives, and what it turns away."""

from __future__ import annotations

import inspect
import socket
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from cuegen.recorder.rules import MOST_BYTES
from cuegen.recorder.server import RecorderServer
from cuegen.takes.lines import lines_to_record
from tests.recorder.served import Served, german_sheet, served, wav_bytes

NAME = f"{lines_to_record(german_sheet())[0].name}.wav"


@pytest.fixture
def it(tmp_path: Path) -> Iterator[Served]:
    (tmp_path / "top" / "takes").mkdir(parents=True)
    (tmp_path / "top" / "secret.txt").write_text("secret", encoding="utf-8")
    with served(german_sheet(), tmp_path / "top" / "takes") as running:
        yield running


# -------------------------------------------------------------------- loopback


def test_it_is_bound_to_this_machine_alone_and_there_is_no_choice(it: Served) -> None:
    assert it.server.server_address == ("127.0.0.1", it.port)
    assert list(inspect.signature(RecorderServer).parameters) == ["store", "page"]
    assert it.server.address == f"http://127.0.0.1:{it.port}/{it.token}/"


def test_no_other_address_of_this_machine_answers(it: Served) -> None:
    found = socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)
    others = {str(info[4][0]) for info in found} - {"127.0.0.1"}
    for other in (*others, "127.0.0.2"):
        with pytest.raises(ConnectionRefusedError):
            socket.create_connection((other, it.port), timeout=2)


def test_each_run_has_a_port_and_a_token_of_its_own(it: Served, tmp_path: Path) -> None:
    with served(german_sheet(), tmp_path / "other") as other:
        assert other.port != it.port
        assert other.token != it.token
        assert len(other.token) == 43  # 32 bytes, six bits a letter
        assert other.whole("GET", f"/{it.token}/").status == 403


# ----------------------------------------------------------------- what is given


def test_the_page_and_its_scripts_are_given_and_not_kept(it: Served) -> None:
    page = it.ask("GET", "")
    assert (page.status, page.headers["content-type"]) == (200, "text/html; charset=utf-8")
    assert b"Und los geht es." in page.body
    for name in ("recorder.js", "capture.js"):
        script = it.ask("GET", name)
        assert (script.status, script.headers["content-type"]) == (
            200, "text/javascript; charset=utf-8"
        )  # fmt: skip
        assert b'"use strict"' in script.body
    assert page.headers["cache-control"] == "no-store"
    assert page.headers["referrer-policy"] == "no-referrer"
    assert page.headers["content-security-policy"] == "frame-ancestors 'none'"
    assert page.headers["x-content-type-options"] == "nosniff"
    assert page.headers["cross-origin-resource-policy"] == "same-origin"
    assert "access-control-allow-origin" not in page.headers


def test_a_take_is_stored_told_and_given_back(it: Served) -> None:
    data = wav_bytes()
    answer = it.ask("POST", "take/1", data)
    assert (answer.status, answer.facts["file"], answer.facts["faults"]) == (200, NAME, [])
    assert it.told == [it.folder / NAME]
    assert it.ask("GET", "take/1").body == data
    assert it.ask("GET", "take/2").status == 404
    assert it.files() == {"secret.txt": b"secret", f"takes/{NAME}": data}


def test_what_is_wrong_is_answered_in_words(it: Served) -> None:
    silence = bytearray(wav_bytes())
    silence[44:] = bytes(len(silence) - 44)
    (fault,) = it.ask("POST", "take/1", bytes(silence)).facts["faults"]
    assert fault["kind"] == "empty"
    assert fault["problem"] == "nobody speaks (loudest nothing)"
    assert fault["remedy"].startswith("Record it again; ")


def test_a_place_that_cannot_be_written_to_is_answered_in_words(it: Served) -> None:
    (it.folder / NAME).mkdir()
    answer = it.ask("POST", "take/1", wav_bytes())
    assert answer.status == 500
    assert answer.facts["problem"].startswith("could not write: a folder of that name is there")


# -------------------------------------------------------------- what is turned away


def check_untouched(it: Served) -> None:
    assert it.files() == {"secret.txt": b"secret"}
    assert it.told == []


@pytest.mark.parametrize("method", ["GET", "POST"])
@pytest.mark.parametrize("token", ["", "wrong", "{token}x", "{token}%00"])
def test_a_missing_or_wrong_token_gets_nothing(it: Served, method: str, token: str) -> None:
    given = token.format(token=it.token)
    answer = it.whole(method, f"/{given}/take/1", wav_bytes(0.1))
    assert answer.status == 403
    assert it.token.encode() not in answer.body
    check_untouched(it)


@pytest.mark.parametrize("method", ["GET", "POST"])
@pytest.mark.parametrize("host", ["rebound.example:{port}", "127.0.0.1", None])
def test_another_host_name_gets_nothing(it: Served, method: str, host: str | None) -> None:
    named = host and host.format(port=it.port)
    assert it.ask(method, "take/1", wav_bytes(0.1), Host=named).status == 403
    check_untouched(it)


@pytest.mark.parametrize("origin", ["https://club.example", "null", None])
def test_a_foreign_page_cannot_send_a_take(it: Served, origin: str | None) -> None:
    assert it.ask("POST", "take/1", wav_bytes(0.1), Origin=origin).status == 403
    check_untouched(it)


@pytest.mark.parametrize(
    "path",
    [
        *("../../secret.txt", "..%2f..%2fsecret.txt", "%2e%2e/%2e%2e/secret.txt", "take/../secret"),
        *("take/..%2F..%2Fsecret.txt", "take/%2e%2e%2f1", "take//etc/passwd", "take/1%00.wav"),
        "..\\..\\secret.txt",
    ],
)
@pytest.mark.parametrize("method", ["GET", "POST"])
def test_a_path_that_climbs_leads_nowhere(it: Served, method: str, path: str) -> None:
    answer = it.ask(method, path, wav_bytes(0.1))
    assert answer.status == 404
    assert b"secret" not in answer.body
    check_untouched(it)


def test_an_upload_that_is_too_long_is_refused_before_it_is_read(it: Served) -> None:
    """Only its head is sent: an answer comes all the same."""
    answer = it.ask("POST", "take/1", Content_Length=str(MOST_BYTES + 1))
    assert answer.status == 413
    check_untouched(it)


def test_an_upload_in_chunks_is_refused(it: Served) -> None:
    answer = it.ask(
        "POST", "take/1", b"5\r\nRIFF!\r\n0\r\n\r\n", Content_Length=None,
        Transfer_Encoding="chunked",
    )  # fmt: skip
    assert answer.status == 411
    check_untouched(it)


def test_what_is_no_wav_file_is_refused(it: Served) -> None:
    answer = it.ask("POST", "take/1", b"<script>alert(1)</script>" * 10)
    assert (answer.status, answer.facts["problem"]) == (
        422, "This is no WAV file of plain samples."
    )  # fmt: skip
    check_untouched(it)


def test_a_line_that_is_not_there_is_refused(it: Served) -> None:
    assert it.ask("POST", "take/9", wav_bytes(0.1)).status == 404
    check_untouched(it)


def test_other_methods_are_refused(it: Served) -> None:
    for method in ("PUT", "DELETE", "OPTIONS", "HEAD"):
        assert it.ask(method, "take/1").status == 501
    check_untouched(it)


def test_an_upload_that_breaks_off_leaves_nothing(it: Served) -> None:
    data = wav_bytes()
    head = (
        f"POST /{it.token}/take/1 HTTP/1.1\r\nHost: 127.0.0.1:{it.port}\r\n"
        f"Origin: http://127.0.0.1:{it.port}\r\nContent-Type: audio/wav\r\n"
        f"Content-Length: {len(data)}\r\n\r\n"
    )
    with socket.create_connection(("127.0.0.1", it.port), timeout=5) as connection:
        connection.sendall(head.encode() + data[:1_000])
        connection.shutdown(socket.SHUT_WR)
        assert connection.recv(100).startswith(b"HTTP/1.0 400")
    check_untouched(it)


def test_a_connection_that_asks_nothing_does_not_hold_up_the_end(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Browsers open some in store; here the server would wait for them for a minute and a half."""
    monkeypatch.setattr("cuegen.recorder.server._Handler.timeout", 90)

    def run() -> None:
        with served(german_sheet(), tmp_path / "t") as running:
            idle = socket.create_connection(("127.0.0.1", running.port))
            assert running.ask("GET", "").status == 200
        idle.close()

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    thread.join(45)
    assert not thread.is_alive()
