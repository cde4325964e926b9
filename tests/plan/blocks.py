"""Blocks that tests are about: texts, and the plans they name."""

from __future__ import annotations

from cuegen.plan.block import BlockPlan
from cuegen.plan.block_reading import read_block
from cuegen.plan.model import Session
from cuegen.plan.reading import read_plan

PLANS = {
    "steps.yaml": """\
title: Lock steps
session: |
  warm-up 5:00 r18
  4 x 4:00 r18/20/22/24 @2:16/-4/-4/-3 70/75/80/85%
  cool-down 4:00
""",
    "long.yaml": "title: Long reach\naudience: solo\nsession: |\n  20:00 r20 @2:10\n",
}

BLOCK = """\
block: Weir spring
start: 2031-03-03
plan: steps.yaml
rowers:
  - Edda Kolm
  - {name: Tore Vass, say: Toor-uh Vass}
weeks:
  - hold
  - lower
  - {progress: faster 1.5 s, changes: {talk_share: 25%, phrase_book: calm}}
  - {plan: long.yaml, progress: longer 10 %}
  - progress: deload
"""


def load(name: str) -> Session:
    return read_plan(PLANS[name], file=name)


def block_of(text: str = BLOCK) -> BlockPlan:
    return read_block(text, load, file="spring.yaml")
