"""What the recorder's server answers and what it refuses, decided before anything is read.

Any page that a browser has open can send requests to this machine. So a request has to
name the server as it is known here (Host: no other name can be made to lead here), come
from its own page (Origin, Sec-Fetch-Site), and know the token of this run. What may be
asked for is a short list; a path is compared, never opened.

Sources: RFC 9110 (Host, Content-Length, status codes), RFC 6454 (Origin), W3C Fetch
Metadata (Sec-Fetch-Site). Nothing here opens a file or a socket.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from http import HTTPStatus
from secrets import compare_digest

HOST = "127.0.0.1"
"""The only address that the server is bound to: this machine's own (RFC 1122, 3.2.1.3)."""

MOST_TAKE_S = 60
"""A line that lasts longer is none; the page stops by itself."""

MOST_BYTES = 18_000_000
"""60 s of 24-bit samples in one channel at 96 kHz, and the head of the file."""

TAKE_TYPE = "audio/wav"
"""A type that no form can send, so that a page of another origin is asked for leave first."""

_TAKE = re.compile(r"take/([1-9][0-9]{0,3})", re.ASCII)
_LENGTH = re.compile(r"[0-9]{1,12}", re.ASCII)
_OWN_SITES = frozenset({"same-origin", "none"})


class What(StrEnum):
    """What can be asked for."""

    PAGE = ""
    SCRIPT = "recorder.js"
    CAPTURE = "capture.js"
    TAKE = "take"


@dataclass(frozen=True, slots=True)
class Door:
    """What a request has to know: token, port, and the numbers of the lines."""

    token: str
    port: int
    numbers: Collection[int]

    @property
    def hosts(self) -> tuple[str, ...]:
        return (f"{HOST}:{self.port}", f"localhost:{self.port}")


@dataclass(frozen=True, slots=True)
class Asked:
    """A request's first line and its headers, names in lower case, every value of each."""

    method: str
    target: str
    headers: Mapping[str, Sequence[str]]

    def one(self, name: str) -> str | None:
        """Return a header that stands there exactly once."""
        values = self.headers.get(name, ())
        return values[0] if len(values) == 1 else None


@dataclass(frozen=True, slots=True)
class Refusal:
    """why: a sentence for the coach, without what was asked."""

    status: HTTPStatus
    why: str


@dataclass(frozen=True, slots=True)
class Allowed:
    """number: of the line; length: bytes to read, 0 where nothing is sent."""

    what: What
    number: int = 0
    length: int = 0


def judge(asked: Asked, door: Door) -> Allowed | Refusal:
    """Return what a request gets."""
    stranger = _stranger(asked, door)
    if stranger is not None:
        return stranger
    allowed = _found(asked.target.split("/", 2)[2], door)
    if asked.method == "GET" or isinstance(allowed, Refusal):
        return allowed
    if asked.method != "POST" or allowed.what is not What.TAKE:
        return Refusal(HTTPStatus.METHOD_NOT_ALLOWED, "That cannot be done here.")
    return _upload(asked, allowed)


def _stranger(asked: Asked, door: Door) -> Refusal | None:
    """Return why a request is not from our own page; None where it is."""
    if asked.one("host") not in door.hosts:
        return Refusal(HTTPStatus.FORBIDDEN, "The recorder is not known by that name.")
    origins = asked.headers.get("origin", ())
    own = {f"http://{host}" for host in door.hosts}
    if any(origin not in own for origin in origins) or (asked.method == "POST" and not origins):
        return Refusal(HTTPStatus.FORBIDDEN, "Another page may not use the recorder.")
    if any(site not in _OWN_SITES for site in asked.headers.get("sec-fetch-site", ())):
        return Refusal(HTTPStatus.FORBIDDEN, "Another page may not use the recorder.")
    parts = asked.target.split("/", 2)
    given = parts[1] if len(parts) == 3 and not parts[0] else ""
    if not compare_digest(given.encode(), door.token.encode()):
        return Refusal(HTTPStatus.FORBIDDEN, "This address is not that of the recorder's page.")
    return None


def _found(path: str, door: Door) -> Allowed | Refusal:
    for what in (What.PAGE, What.SCRIPT, What.CAPTURE):
        if path == what:
            return Allowed(what)
    match = _TAKE.fullmatch(path)
    if match is None:
        return Refusal(HTTPStatus.NOT_FOUND, "There is nothing here.")
    number = int(match[1])
    if number not in door.numbers:
        return Refusal(HTTPStatus.NOT_FOUND, f"No line has the number {number}.")
    return Allowed(What.TAKE, number)


def _upload(asked: Asked, allowed: Allowed) -> Allowed | Refusal:
    length = asked.one("content-length")
    if "transfer-encoding" in asked.headers or length is None or not _LENGTH.fullmatch(length):
        return Refusal(HTTPStatus.LENGTH_REQUIRED, "A take has to say how long it is.")
    if int(length) > MOST_BYTES:
        return Refusal(
            HTTPStatus.REQUEST_ENTITY_TOO_LARGE, f"A take lasts {MOST_TAKE_S} s at most."
        )
    if asked.one("content-type") != TAKE_TYPE:
        return Refusal(HTTPStatus.UNSUPPORTED_MEDIA_TYPE, "A take is a WAV file.")
    return Allowed(allowed.what, allowed.number, int(length))
