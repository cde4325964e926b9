"""One short session in the natural voice, compiled once for all tests of the verifier."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from cuegen.plan.reading import read_plan
from cuegen.schedule.cuesheet import CueSheet
from cuegen.steps import compile_sheet
from cuegen.voice.booth import Booth, open_booth

PLAN = """\
title: Two steps
session: |
  warm-up 0:50 r18
  2 x 0:50 r20/22 @2:10/-4
  cool-down 0:40
"""


@pytest.fixture(scope="session")
def booth() -> Iterator[Booth]:
    with open_booth("natural") as opened:
        yield opened


@pytest.fixture(scope="session")
def sheet(booth: Booth) -> CueSheet:
    return compile_sheet(read_plan(PLAN), speaker=booth)
