"""Loudness by name: what a plan may say, what it comes to, and that the mixer agrees."""

from __future__ import annotations

from dataclasses import replace

import pytest

from cuegen.errors import PlanError
from cuegen.mix.levels import levels_of
from cuegen.plan.loudness import LOUDNESS, asked_lufs, loudness_table
from cuegen.plan.model import Bed, Loudness, Session, ToneSpan
from cuegen.plan.reading import read_plan
from cuegen.plan.writing import write_plan
from cuegen.steps import compile_sheet
from tests.voice.fake import FakeSpeaker

PLAN = """\
title: Late on the canal
session: |
  warm-up 2:00 r18
  row 2:00 r20
"""


def plan(*lines: str) -> Session:
    return read_plan("\n".join((PLAN.rstrip(), *lines)) + "\n")


@pytest.mark.parametrize("name", Loudness)
def test_a_name_is_read_and_written_back(name: Loudness) -> None:
    session = plan(f"loudness: {name.value.title()}")
    assert session.loudness is name
    written = write_plan(session)
    assert f"loudness: {name.value}\n" in written
    assert read_plan(written).loudness is name


@pytest.mark.parametrize(("text", "lufs"), [("-18", -18.0), ("-16.5 LUFS", -16.5)])
def test_a_number_is_still_a_number(text: str, lufs: float) -> None:
    assert plan(f"loudness: {text}").loudness == lufs


def test_a_name_that_is_not_known_is_refused_with_those_that_are() -> None:
    with pytest.raises(PlanError, match="a number should stand here, or where the track is heard"):
        plan("loudness: arena")
    with pytest.raises(PlanError) as refused:
        plan("loudness: arena")
    assert refused.value.remedy == (
        "Write one from -30 to -10, or gym, headphones, podcast or broadcast."
    )


def test_every_name_has_a_target_within_what_a_number_may_be() -> None:
    assert list(LOUDNESS) == list(Loudness)
    for target in LOUDNESS.values():
        assert -30 <= target.mono_lufs <= target.stereo_lufs <= -10
        assert target.source


def test_broadcast_is_that_of_ebu_r_128() -> None:
    """EBU R 128: -23.0 LUFS, whatever the channels."""
    target = LOUDNESS[Loudness.BROADCAST]
    assert (target.stereo_lufs, target.mono_lufs) == (-23.0, -23.0)


def test_one_channel_played_from_two_is_as_loud_as_two() -> None:
    """BS.1770: the powers of the channels add, which is 3.01 LU; broadcasting measures the file."""
    for name, target in LOUDNESS.items():
        if name is not Loudness.BROADCAST:
            assert target.stereo_lufs - target.mono_lufs == pytest.approx(3.01, abs=0.02)


def test_a_podcast_is_what_holds_without_the_field() -> None:
    speaker = FakeSpeaker()
    named = compile_sheet(plan("loudness: podcast"), speaker=speaker)
    bare = compile_sheet(plan(), speaker=speaker)
    assert levels_of(named) == levels_of(bare)


@pytest.mark.parametrize("name", Loudness)
@pytest.mark.parametrize(
    "more", [(), ("bed: river.mp3",), ("stroke_tones: all",)], ids=["voice", "bed", "tones"]
)
def test_the_mixer_aims_at_the_target_of_its_channels(
    name: Loudness, more: tuple[str, ...]
) -> None:
    """The plan knows how many channels the track will have."""
    sheet = compile_sheet(plan(f"loudness: {name.value}", *more), speaker=FakeSpeaker())
    levels = levels_of(sheet)
    target = LOUDNESS[name]
    wanted = {1: target.mono_lufs, 2: target.stereo_lufs}[levels.channels]
    assert levels.target_lufs == wanted
    assert levels.channels == (2 if more else 1)


def test_a_bed_or_tones_make_it_two_channels() -> None:
    session = Session(title="t", entries=(), loudness=Loudness.GYM)
    assert asked_lufs(session) == -17.0
    assert asked_lufs(replace(session, bed=Bed("river.mp3"))) == -14.0
    assert asked_lufs(replace(session, stroke_tones=ToneSpan.ALL)) == -14.0


def test_the_table_names_every_target_with_its_source() -> None:
    rows = loudness_table().splitlines()[2:]
    assert [row.split("`")[1] for row in rows] == [name.value for name in Loudness]
    assert rows[-1].endswith("| EBU R 128 |")
