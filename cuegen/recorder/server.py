"""The recorder's server: on this machine's own address, behind a token, for one run.

`rules` decides, this carries out. A connection serves one request. What is refused is
not read; what is kept is read whole, looked at, and only then written.
"""

from __future__ import annotations

import ipaddress
import json
import secrets
import socket
import socketserver
import threading
from collections.abc import Callable
from contextlib import suppress
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import cast

from cuegen.errors import CuegenError, OutputError
from cuegen.recorder.page import script
from cuegen.recorder.rules import HOST, Allowed, Asked, Door, Refusal, What, judge
from cuegen.recorder.store import Kept, Store
from cuegen.recorder.wav import wav_fault

TOKEN_BYTES = 32
PATIENCE_S = 10.0
"""A connection that is silent for so long is given up."""

_HEADERS = {
    "Cache-Control": "no-store",
    "Content-Security-Policy": "frame-ancestors 'none'",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
}
"""Nothing of it is kept, framed, embedded or told to others; the page's own policy is in it."""


class RecorderServer(ThreadingHTTPServer):
    """Serves a recorder's page and takes in what it records, until `stop`.

    page: makes the page anew at each call. There is no choice of address. Raises
    OutputError where this machine gives no port.
    """

    daemon_threads = False  # a take that is being written is written to its end
    allow_reuse_address = False

    def __init__(self, store: Store, page: Callable[[], str]) -> None:
        self.store, self.page = store, page
        self._idle: set[socket.socket] = set()
        self._changing = threading.Lock()
        self._stopping = False
        try:
            super().__init__((HOST, 0), _Handler)
        except OSError as bad:
            raise OutputError(f"no port could be opened: {bad.strerror}") from None
        if not ipaddress.ip_address(str(self.server_address[0])).is_loopback:
            self.server_close()
            raise OutputError("the recorder serves this machine alone")
        self.door = Door(secrets.token_urlsafe(TOKEN_BYTES), self.server_port, store.lines.keys())

    def server_bind(self) -> None:
        """Bind without asking any name server who we are, as HTTPServer would."""
        socketserver.TCPServer.server_bind(self)
        self.server_name, self.server_port = HOST, self.server_address[1]

    @property
    def address(self) -> str:
        """Return the page's address, with its token."""
        return f"http://{HOST}:{self.door.port}/{self.door.token}/"

    def waits(self, connection: socket.socket, *, is_idle: bool) -> None:
        """Note whether a connection has yet to ask for something."""
        with self._changing:
            (self._idle.add if is_idle else self._idle.discard)(connection)
            if is_idle and self._stopping:
                _hang_up(connection)

    def server_close(self) -> None:
        """Close, once what is under way is done; browsers keep connections open in store."""
        with self._changing:
            self._stopping = True
            for connection in self._idle:
                _hang_up(connection)
        super().server_close()

    def handle_error(self, request: object, client_address: object) -> None:
        """Say nothing of a connection that broke: the page says so where it matters."""


def _hang_up(connection: socket.socket) -> None:
    with suppress(OSError):
        connection.shutdown(socket.SHUT_RDWR)


class _Handler(BaseHTTPRequestHandler):
    server_version, sys_version = "cuegen", ""
    timeout = PATIENCE_S

    @property
    def own(self) -> RecorderServer:
        return cast(RecorderServer, self.server)

    def setup(self) -> None:
        super().setup()
        self.own.waits(self.connection, is_idle=True)

    def finish(self) -> None:
        self.own.waits(self.connection, is_idle=False)
        super().finish()

    def do_GET(self) -> None:
        self._answer()

    def do_POST(self) -> None:
        self._answer()

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002
        """Write nothing: addresses hold the token."""

    def _answer(self) -> None:
        self.own.waits(self.connection, is_idle=False)
        verdict = judge(self._asked(), self.own.door)
        if isinstance(verdict, Refusal):
            self._tell(verdict.status, {"problem": verdict.why})
            return
        try:
            (self._take_in if self.command == "POST" else self._give)(verdict)
        except CuegenError as bad:
            words = f"{bad.problem}. {bad.remedy}".strip()
            self._tell(HTTPStatus.INTERNAL_SERVER_ERROR, {"problem": words})

    def _asked(self) -> Asked:
        headers: dict[str, list[str]] = {}
        for name, value in self.headers.items():
            headers.setdefault(name.lower(), []).append(value)
        return Asked(self.command, self.path, headers)

    def _give(self, allowed: Allowed) -> None:
        if allowed.what is What.PAGE:
            self._send(HTTPStatus.OK, "text/html; charset=utf-8", self.own.page().encode())
        elif allowed.what is What.TAKE:
            self._give_take(allowed.number)
        else:
            text = script(allowed.what).encode()
            self._send(HTTPStatus.OK, "text/javascript; charset=utf-8", text)

    def _give_take(self, number: int) -> None:
        path = self.own.store.file_of(number)
        try:
            sound = b"" if path is None else path.read_bytes()
        except OSError:
            sound = b""
        if sound:
            self._send(HTTPStatus.OK, "application/octet-stream", sound)
        else:
            self._tell(HTTPStatus.NOT_FOUND, {"problem": "This line has no take to be heard."})

    def _take_in(self, allowed: Allowed) -> None:
        data = self.rfile.read(allowed.length)
        if len(data) != allowed.length:
            self._tell(HTTPStatus.BAD_REQUEST, {"problem": "The take came only in part."})
            return
        fault = wav_fault(data)
        if fault is not None:
            self._tell(HTTPStatus.UNPROCESSABLE_ENTITY, {"problem": fault})
            return
        kept = self.own.store.keep(allowed.number, data)
        self._tell(HTTPStatus.OK, _kept_json(kept))

    def _tell(self, status: HTTPStatus, facts: dict[str, object]) -> None:
        self._send(status, "application/json", json.dumps(facts).encode())

    def _send(self, status: HTTPStatus, kind: str, body: bytes) -> None:
        self.send_response(status)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(body)))
        for name, value in _HEADERS.items():
            self.send_header(name, value)
        self.end_headers()
        self.wfile.write(body)


def _kept_json(kept: Kept) -> dict[str, object]:
    return {
        "file": kept.path.name,
        "faults": [
            {"kind": fault.kind.value, "problem": fault.problem, "remedy": fault.remedy}
            for fault in kept.faults
        ],
        "doubt": kept.doubt,
        "lengthMs": kept.length_ms,
        "moved": list(kept.moved),
    }
