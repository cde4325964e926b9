"""Frames: what is written is read, and what is no frame is refused."""

from __future__ import annotations

import io

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuegen.voice.wire import (
    Reply,
    Request,
    WireError,
    read_reply,
    read_request,
    silent,
    write_reply,
    write_request,
)

_NUMBERS = st.integers(0, 2**32 - 1)
_TEXTS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=80)


@given(st.lists(st.tuples(_NUMBERS, _TEXTS, st.floats(0.5, 2.0)), max_size=4))
def test_requests_come_out_as_they_went_in(parts: list[tuple[int, str, float]]) -> None:
    requests = [Request(*part) for part in parts]
    stream = io.BytesIO()
    for request in requests:
        write_request(stream, request)
    stream.seek(0)
    assert [read_request(stream) for _ in requests] == requests
    assert read_request(stream) is None


@given(_NUMBERS, st.lists(st.floats(-1, 1, width=32), max_size=50), st.integers(1, 192_000))
def test_replies_come_out_bit_for_bit(number: int, samples: list[float], rate: int) -> None:
    stream = io.BytesIO()
    write_reply(stream, Reply(number, np.array(samples, dtype=np.float32), rate))
    stream.seek(0)
    reply = read_reply(stream)
    assert reply is not None
    assert (reply.number, reply.sample_rate, reply.error) == (number, rate, "")
    assert reply.samples.dtype == np.float32
    assert reply.samples.tolist() == np.array(samples, dtype=np.float32).tolist()


def test_a_reply_may_say_what_is_wrong_and_what_to_do() -> None:
    stream = io.BytesIO()
    write_reply(stream, silent(7, "no voice", "get one"))
    stream.seek(0)
    reply = read_reply(stream)
    assert reply is not None
    assert (reply.error, reply.remedy, len(reply.samples)) == ("no voice", "get one", 0)


@pytest.mark.parametrize("kept", [0, 1, 19])
def test_a_stream_that_ends_in_a_header_is_at_its_end(kept: int) -> None:
    stream = io.BytesIO()
    write_reply(stream, Reply(1, np.ones(10, dtype=np.float32), 8_000))
    assert read_reply(io.BytesIO(stream.getvalue()[:kept])) is None


def test_a_frame_that_breaks_off_is_refused() -> None:
    stream = io.BytesIO()
    write_reply(stream, Reply(1, np.ones(10, dtype=np.float32), 8_000))
    with pytest.raises(WireError, match="broke off"):
        read_reply(io.BytesIO(stream.getvalue()[:-1]))


def test_a_stray_print_is_not_taken_for_a_frame() -> None:
    with pytest.raises(WireError, match="b'Audi' is no start"):
        read_reply(io.BytesIO(b"Audio saved to a file, says the engine\n"))
