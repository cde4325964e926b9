"""Who is let in: host, origin, site, token, path, length; one rule is broken per case."""

from __future__ import annotations

from http import HTTPStatus

import pytest

from cuegen.recorder.rules import MOST_BYTES, Allowed, Asked, Door, Refusal, What, judge

DOOR = Door("a-token_of-this-run", 50_123, frozenset({1, 7}))
OWN = "http://127.0.0.1:50123"


def asked(method: str = "GET", path: str = "", **changed: str | list[str] | None) -> Asked:
    """Return a request that is let in, but for what is changed; None leaves a header out."""
    headers: dict[str, str | list[str] | None] = {"host": "127.0.0.1:50123"}
    if method == "POST":
        headers |= {"origin": OWN, "content-type": "audio/wav", "content-length": "1000"}
    headers |= {name.replace("_", "-"): value for name, value in changed.items()}
    lists = {
        name: [value] if isinstance(value, str) else value
        for name, value in headers.items()
        if value is not None
    }
    return Asked(method, f"/{DOOR.token}/{path}", lists)


def refused(request: Asked) -> tuple[int, str]:
    verdict = judge(request, DOOR)
    assert isinstance(verdict, Refusal)
    return verdict.status, verdict.why


@pytest.mark.parametrize(
    ("request_", "allowed"),
    [
        (asked(), Allowed(What.PAGE)),
        (asked(path="recorder.js"), Allowed(What.SCRIPT)),
        (asked(path="capture.js"), Allowed(What.CAPTURE)),
        (asked(path="take/7"), Allowed(What.TAKE, 7)),
        (asked("POST", "take/1"), Allowed(What.TAKE, 1, 1_000)),
        (asked(host="localhost:50123"), Allowed(What.PAGE)),
        (asked("POST", "take/1", origin="http://localhost:50123"), Allowed(What.TAKE, 1, 1_000)),
        (asked(sec_fetch_site="same-origin"), Allowed(What.PAGE)),
        (asked(sec_fetch_site="none"), Allowed(What.PAGE)),
        (asked("POST", "take/1", content_length=str(MOST_BYTES)),
         Allowed(What.TAKE, 1, MOST_BYTES)),
    ],
)  # fmt: skip
def test_our_own_page_is_let_in(request_: Asked, allowed: Allowed) -> None:
    assert judge(request_, DOOR) == allowed


@pytest.mark.parametrize(
    "host",
    [
        *("rebound.example:50123", "rebound.example", "127.0.0.1", "127.0.0.1:80", "localhost"),
        *("127.0.0.1:50123.rebound.example", "127.0.0.2:50123", "0.0.0.0:50123", "[::1]:50123"),
        *("", None, ["127.0.0.1:50123", "rebound.example"]),
    ],
)
def test_another_name_of_this_machine_is_refused(host: str | list[str] | None) -> None:
    """So that no name server can make a foreign page's own name lead here."""
    assert refused(asked(host=host)) == (403, "The recorder is not known by that name.")


@pytest.mark.parametrize(
    "origin",
    [
        *("https://club.example", "null", "http://127.0.0.1", "https://127.0.0.1:50123"),
        *("http://127.0.0.1:50124", "http://127.0.0.1:50123.club.example", ""),
    ],
)
@pytest.mark.parametrize("method", ["GET", "POST"])
def test_a_foreign_origin_is_refused(method: str, origin: str) -> None:
    path = "take/1"
    assert refused(asked(method, path, origin=origin)) == (
        403, "Another page may not use the recorder."
    )  # fmt: skip


def test_an_upload_without_an_origin_is_refused() -> None:
    assert refused(asked("POST", "take/1", origin=None))[0] == HTTPStatus.FORBIDDEN


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_a_request_from_another_site_is_refused(site: str) -> None:
    assert refused(asked(sec_fetch_site=site))[0] == HTTPStatus.FORBIDDEN


@pytest.mark.parametrize(
    "target",
    [
        *("/", "/a-token_of-this-ru/", "/a-token_of-this-runn/", "/A-TOKEN_OF-THIS-RUN/"),
        *("/a-token_of-this-run", "//a-token_of-this-run/", "/x/a-token_of-this-run/", ""),
        *("/\u00fc/", "http://127.0.0.1:50123/a-token_of-this-run/", "/%61-token_of-this-run/"),
    ],
)
def test_a_missing_or_wrong_token_is_refused(target: str) -> None:
    request = Asked("GET", target, asked().headers)
    assert refused(request) == (403, "This address is not that of the recorder's page.")


@pytest.mark.parametrize(
    "path",
    [
        *(
            "../pyproject.toml",
            "take/../../x",
            "..%2f..%2fetc%2fpasswd",
            "take/..%2f1",
            "take/1/..",
        ),
        *("take/1.wav", "take/", "take/0", "take/01", "take/1?x=1", "take/-1", "take/\u0661", "./"),
        *("take/%31", "take\\1", "recorder.js/", "RECORDER.JS", "take/1\x00", "/", "take/12345"),
    ],
)
def test_whatever_is_not_on_the_list_is_not_there(path: str) -> None:
    assert refused(asked(path=path)) == (404, "There is nothing here.")


@pytest.mark.parametrize("method", ["GET", "POST"])
def test_a_line_that_is_not_there_is_said(method: str) -> None:
    assert refused(asked(method, "take/2")) == (404, "No line has the number 2.")


@pytest.mark.parametrize("path", ["", "recorder.js", "capture.js"])
def test_only_takes_can_be_sent(path: str) -> None:
    assert refused(asked("POST", path))[0] == HTTPStatus.METHOD_NOT_ALLOWED


@pytest.mark.parametrize("method", ["PUT", "DELETE", "OPTIONS", "get"])
def test_nothing_but_reading_and_sending_is_known(method: str) -> None:
    assert refused(asked(method, "take/1"))[0] == HTTPStatus.METHOD_NOT_ALLOWED


@pytest.mark.parametrize(
    ("changed", "status"),
    [
        ({"content_length": str(MOST_BYTES + 1)}, 413),
        ({"content_length": "999999999999"}, 413),
        ({"content_length": None}, 411),
        ({"content_length": ["1000", "2000"]}, 411),
        ({"content_length": "-1"}, 411),
        ({"content_length": "1e3"}, 411),
        ({"content_length": "9" * 13}, 411),
        ({"transfer_encoding": "chunked"}, 411),
        ({"content_type": "text/plain"}, 415),
        ({"content_type": "multipart/form-data"}, 415),
        ({"content_type": None}, 415),
    ],
)
def test_an_upload_that_is_too_long_of_no_length_or_of_another_kind_is_refused(
    changed: dict[str, str], status: int
) -> None:
    assert refused(asked("POST", "take/1", **changed))[0] == status
