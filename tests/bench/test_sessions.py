"""The bench measures what it says it measures."""

from __future__ import annotations

import pytest

from cuegen.targets.resolve import outline
from tests.bench.sessions import session_of


@pytest.mark.parametrize("minutes", [25, 30, 180])
def test_a_bench_session_lasts_its_minutes_and_has_no_music(minutes: int) -> None:
    plan = outline(session_of(minutes, "natural"))
    assert plan.row_end_ms - plan.lead_in_ms == minutes * 60_000
    assert plan.session.bed is None
