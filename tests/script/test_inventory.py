"""What a book holds is counted by kind, case, audience and theme, and found again by these."""

from __future__ import annotations

import pytest

from cuegen.errors import PhraseError
from cuegen.plan.model import Audience
from cuegen.script.book import PhraseBook
from cuegen.script.inventory import Wanted, count_kinds, count_themes, count_wordings, pick
from cuegen.script.kinds import CUE_KINDS, CueKind
from cuegen.script.phrasebook import read_book
from tests.script.outlines import plain

OURS = """\
extends: plain
replace: [settle]
themes:
  boat-feel: {rates: 16-22}
lines:
  settle:
    - Any case. / Any.
    - {when: work, lines: [Work one. / Any., Work two.]}
    - {when: rest, audience: solo, lines: [Rest.]}
    - {when: warm-up, lines: [Warm.]}
  technique:
    - {theme: boat-feel, when: explain, lines: [Feel it run. / Feel it.]}
    - {theme: boat-feel, lines: [Feel it.]}
"""


@pytest.fixture(scope="module")
def ours() -> PhraseBook:
    return read_book(OURS, "ours.yaml", base=plain())


def keys(book: PhraseBook, wanted: Wanted) -> list[str]:
    return [line.key for line in pick(book, wanted)]


def test_lines_are_counted_by_case_and_audience(ours: PhraseBook) -> None:
    rows = {
        row.case: (row.group, row.solo, row.wordings)
        for row in count_kinds(ours)
        if row.kind is CueKind.SETTLE
    }
    assert rows == {
        "work": (3, 3, 4),
        "warm-up": (2, 2, 3),
        "paddle": (1, 1, 2),
        "rest": (1, 2, 3),
    }


def test_every_written_kind_and_case_has_a_row(ours: PhraseBook) -> None:
    expected = [
        (kind, case, spec.firm)
        for kind, spec in CUE_KINDS.items()
        if spec.written
        for case in spec.cases or (None,)
    ]
    assert [(row.kind, row.case, row.firm) for row in count_kinds(ours)] == expected


def test_themes_are_counted_with_their_rates(ours: PhraseBook) -> None:
    (row,) = (row for row in count_themes(ours) if row.name == "boat-feel")
    assert (row.rates.low, row.rates.high, row.lines, row.wordings) == (16, 22, 2, 2)


def test_a_text_that_stands_twice_is_one_wording(ours: PhraseBook) -> None:
    assert count_wordings(pick(ours, Wanted(theme="boat-feel"))) == 2


class TestPick:
    def test_by_kind(self, ours: PhraseBook) -> None:
        assert len(keys(ours, Wanted(kind="settle"))) == 5

    def test_by_case_with_what_serves_every_case(self, ours: PhraseBook) -> None:
        assert keys(ours, Wanted(kind="settle", case="rest")) == ["Any case. / Any.", "Rest."]

    def test_by_case_alone_from_all_kinds_that_have_it(self, ours: PhraseBook) -> None:
        kinds = {line.kind for line in pick(ours, Wanted(case="rest"))}
        assert kinds == {CueKind.SETTLE, CueKind.SEGMENT_END}

    def test_by_audience(self, ours: PhraseBook) -> None:
        wanted = Wanted(kind="settle", case="rest", audience=Audience.GROUP)
        assert keys(ours, wanted) == ["Any case. / Any."]

    def test_by_theme(self, ours: PhraseBook) -> None:
        assert keys(ours, Wanted(theme="boat-feel")) == ["Feel it run. / Feel it.", "Feel it."]

    @pytest.mark.parametrize(
        ("wanted", "problem", "remedy"),
        [
            (Wanted(kind="setle"), "there is no cue kind 'setle'", "'settle'"),
            (Wanted(kind="settle", case="wrok"), "settle has no such case", "'work'"),
            (Wanted(kind="finish", case="work"), "finish has no such case", "Leave --case out"),
            (Wanted(case="wrok"), "this book has no such case", "'work'"),
            (Wanted(theme="boat-fel"), "no lines on that theme", "'boat-feel'"),
            (Wanted(kind="settle", theme="boat-feel"), "has no such line", "Ask for less"),
        ],
    )
    def test_a_wrong_name_is_refused(
        self, ours: PhraseBook, wanted: Wanted, problem: str, remedy: str
    ) -> None:
        with pytest.raises(PhraseError) as caught:
            pick(ours, wanted)
        assert problem in caught.value.problem
        assert remedy in caught.value.remedy
