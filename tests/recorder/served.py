"""A recorder's server for the tests, and requests as bytes, so that nothing mends them."""

from __future__ import annotations

import io
import json
import socket
import threading
import wave
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from cuegen.recorder.page import recorder_page
from cuegen.recorder.server import RecorderServer
from cuegen.recorder.store import Store
from cuegen.schedule.cuesheet import CueSheet
from cuegen.script.kinds import CueKind
from cuegen.takes.examine import Examiner
from cuegen.takes.lines import TakeLine, lines_to_record
from tests.takes.sheets import cue, sheet

TEXTS = ("Und los geht es.", "Noch zwei Minuten.", "Ruhig auslaufen.")


def german_sheet(longest_ms: int = 4_000) -> CueSheet:
    """Return a sheet whose words no aligner is asked about: what is tested is quick."""
    cues = [
        cue(f"c{n}", text, 1_000 + n * (longest_ms + 400), 1_500, CueKind.OWN)
        for n, text in enumerate(TEXTS)
    ]
    return sheet(*cues, language="de")


def wav_bytes(
    seconds: float = 1.0, *, rate: int = 48_000, width: int = 3, channels: int = 1, seed: int = 1
) -> bytes:
    """Return a WAV file of noise that swells and fades like a word, between two pauses."""
    rng = np.random.default_rng(seed)
    length = int(seconds * rate)
    shape = np.zeros(length)
    middle = slice(length // 4, 3 * length // 4)
    shape[middle] = 0.3 * np.sin(np.linspace(0, np.pi, len(shape[middle])))
    sound = shape * rng.uniform(-1, 1, length) + 1e-5 * rng.standard_normal(length)
    whole = np.rint(sound * (2 ** (8 * width - 1) - 1)).astype("<i4")
    raw = whole.view(np.uint8).reshape(-1, 4)[:, :width].repeat(channels, axis=0).tobytes()
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(channels)
        file.setsampwidth(width)
        file.setframerate(rate)
        file.writeframes(raw)
    return out.getvalue()


@dataclass
class Answer:
    status: int
    headers: dict[str, str]
    body: bytes

    @property
    def facts(self) -> dict[str, Any]:
        found: dict[str, Any] = json.loads(self.body)
        return found


@dataclass
class Served:
    """A server that runs. told: the files it said it wrote."""

    server: RecorderServer
    store: Store
    folder: Path
    told: list[Path] = field(default_factory=list)

    @property
    def port(self) -> int:
        return self.server.door.port

    @property
    def token(self) -> str:
        return self.server.door.token

    def raw(self, sent: bytes) -> Answer:
        """Send bytes and return what comes back."""
        with socket.create_connection(("127.0.0.1", self.port), timeout=10) as connection:
            connection.sendall(sent)
            got = b""
            while part := connection.recv(65_536):
                got += part
        head, _, body = got.partition(b"\r\n\r\n")
        first, *lines = head.decode("latin-1").split("\r\n")
        headers = {name.lower(): value for name, _, value in (ln.partition(": ") for ln in lines)}
        return Answer(int(first.split()[1]), headers, body)

    def ask(self, method: str, path: str, body: bytes = b"", **headers: str | None) -> Answer:
        """Ask for a path below the token; a header that is None is left out."""
        return self.whole(method, f"/{self.token}/{path}", body, **headers)

    def whole(self, method: str, target: str, body: bytes = b"", **headers: str | None) -> Answer:
        sent: dict[str, str | None] = {"Host": f"127.0.0.1:{self.port}"}
        if method == "POST":
            sent |= {"Origin": f"http://127.0.0.1:{self.port}", "Content-Type": "audio/wav",
                     "Content-Length": str(len(body))}  # fmt: skip
        sent |= {name.replace("_", "-"): value for name, value in headers.items()}
        lines = [f"{name}: {value}" for name, value in sent.items() if value is not None]
        head = "\r\n".join([f"{method} {target} HTTP/1.1", *lines, "", ""])
        return self.raw(head.encode("latin-1") + body)

    def files(self) -> dict[str, bytes]:
        """Return every file below the folder that holds the folder of takes."""
        top = self.folder.parent
        return {
            path.relative_to(top).as_posix(): path.read_bytes()
            for path in top.rglob("*")
            if path.is_file()
        }


@contextmanager
def served(
    made: CueSheet,
    folder: Path,
    *,
    stands: bool = True,
    lines: tuple[TakeLine, ...] | None = None,
) -> Iterator[Served]:
    """Give a server that runs in a thread, and close it again."""
    lines = lines or lines_to_record(made)
    told: list[Path] = []
    note: Callable[[Path, TakeLine], None] = lambda path, _: told.append(path)  # noqa: E731
    with Examiner(lines, made.sound.language) as examiner:
        store = Store(folder, lines, examiner, stands=stands, told=note)
        page = lambda: recorder_page(made, lines, store.recorded(), folder.name)  # noqa: E731
        with RecorderServer(store, page) as server:
            thread = threading.Thread(target=server.serve_forever, args=(0.05,))
            thread.start()
            try:
                yield Served(server, store, folder, told)
            finally:
                server.shutdown()
                thread.join()
