"""The log as its users see it: what went in comes out, and every change can be undone."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cuegen.errors import LogError
from cuegen.log import Log, LogEntry, open_log
from cuegen.plan.model import SegmentKind
from cuegen.plan.reading import read_plan
from cuegen.steps import compile_sheet
from tests.log.samples import DAY, ENTRIES, FULL, entry
from tests.voice.fake import FakeSpeaker


def test_every_field_comes_back(path: Path) -> None:
    with open_log(path) as log:
        log.add([FULL])
    with open_log(path) as log:
        assert log.entries() == (FULL,)


def test_an_entry_is_numbered_dated_and_has_its_batch(log: Log) -> None:
    first, second = log.add([entry()]), log.add([entry(), entry()])
    found = log.entries()
    assert [one.id for one in found] == [1, 2, 3]
    assert [one.batch for one in found] == [first, second, second]
    assert all(
        one.added is not None and datetime.now(UTC) - one.added < timedelta(minutes=1)
        for one in found
    )


def test_a_number_never_means_another_result(log: Log) -> None:
    log.add([entry()])
    log.undo()
    log.add([entry()])
    assert [one.id for one in log.entries()] == [2]


def test_entries_come_by_day_and_within_one_as_they_were_added(log: Log) -> None:
    days = [DAY, DAY - timedelta(1), DAY]
    log.add([entry(day=day, rate=18 + index) for index, day in enumerate(days)])
    assert [one.rate for one in log.entries()] == [19, 18, 20]


def test_a_rower_is_found_whatever_the_spelling(log: Log) -> None:
    """Capitals, spaces, and an accent typed as one letter or as two."""
    log.add([entry("Åsa  Öberg"), entry("Idris Vale")])
    assert log.entries("A\u030aSA o\u0308berg ") == (entry("Åsa Öberg"),)


def test_days_are_filtered_with_both_ends(log: Log) -> None:
    log.add([entry(day=DAY + timedelta(step)) for step in range(4)])
    found = log.entries(since=DAY + timedelta(1), until=DAY + timedelta(2))
    assert [one.day.day for one in found] == [25, 26]


def test_sessions_are_filtered_by_a_part_of_their_title(log: Log) -> None:
    log.add([entry(session="Thursday by the Slip"), entry(session="100% slow"), entry()])
    assert [one.session for one in log.entries(session="BY THE slip")] == ["Thursday by the Slip"]
    assert [one.session for one in log.entries(session="0%")] == ["100% slow"]


def test_an_unknown_rower_is_refused_with_the_nearest_name(log: Log) -> None:
    log.add([entry("Maren Holt")])
    with pytest.raises(LogError, match=r"(?s)no results of a rower.*mean 'Maren Holt'"):
        log.entries("Maren Hult")


def test_rowers_have_their_first_spelling_counts_and_days(log: Log) -> None:
    log.add([entry("Maren Holt"), entry("maren holt", day=DAY + timedelta(7)), entry("Idris Vale")])
    assert [(one.name, one.results, one.first, one.last) for one in log.rowers()] == [
        ("Idris Vale", 1, DAY, DAY),
        ("Maren Holt", 2, DAY, DAY + timedelta(7)),
    ]


# ---------------------------------------------------------- for targets


def test_results_are_what_last_held_asks(log: Log) -> None:
    log.add([entry(split_ms=126_000), entry("Idris Vale", split_ms=115_000)])
    log.add([entry(split_ms=124_500, segment=4, session="Tuesday", note="calm", metres=500.0)])
    held = log.results().last_held("maren holt", 20)
    assert held is not None
    assert (held.split_ms, held.segment, held.session, held.row) == (124_500, "4", "Tuesday", 3)
    assert (held.note, held.metres, held.watts) == ("calm", 500.0, None)


def test_only_pieces_of_work_are_held(log: Log) -> None:
    log.add([entry(rate=18, kind=SegmentKind.WARM_UP), entry(rate=20)])
    assert [row.rate for row in log.results().rows] == [20]


def test_a_sheet_takes_its_targets_from_the_log(log: Log) -> None:
    log.add([entry(rate=20, split_ms=130_100), entry(rate=22, split_ms=126_000)])
    plan = read_plan("session: |\n  2 x 5:00 r18/20 @last+2\naudience: solo\nrower: Maren Holt\n")
    sheet = compile_sheet(plan, results=log.results(), speaker=FakeSpeaker())
    assert [one.split_ms for one in sheet.segments] == [130_100, 126_000]


# ------------------------------------------------------------- changing


@pytest.mark.parametrize(
    ("fields", "problem"),
    [
        ({"rower": "  "}, "rower is missing"),
        ({"rower": "Maren\x1b[2J"}, r"rower: the sign U\+001B"),
        ({"note": "\u202egnp.exe"}, r"note: the sign U\+202E"),
        ({"note": "x" * 501}, "note: this text is longer than 500"),
        ({"split_ms": 49_999}, "split is beyond what anybody rows"),
        ({"split_ms": 600_001}, "split is beyond what anybody rows"),
        ({"split_ms": 125.5}, "split is of the wrong kind"),
        ({"rate": 0}, "rate is beyond what anybody rows"),
        ({"rate": True}, "rate is of the wrong kind"),
        ({"watts": float("nan")}, "watts is beyond"),
        ({"watts": 0.0}, "watts is nothing"),
        ({"felt_pct": 101}, "felt is beyond"),
        ({"day": datetime(2031, 5, 24, tzinfo=UTC)}, "date is of the wrong kind"),
        ({"kind": "row"}, "kind is of the wrong kind"),
        ({"parts_ms": [125_000, 126_000]}, "parts is of the wrong kind"),
        ({"parts_ms": (125_500,)}, "parts has 2 to 100 values, or none"),
        ({"parts_ms": (125_500,) * 101}, "parts has 2 to 100 values, or none"),
        ({"parts_ms": (125_500, 49_999)}, "parts is beyond what anybody rows"),
        ({"parts_ms": (125_500, 125.5)}, "parts is of the wrong kind"),
    ],
)
def test_what_cannot_be_kept_is_refused_and_nothing_of_it_kept(
    log: Log, fields: dict[str, Any], problem: str
) -> None:
    with pytest.raises(LogError, match=problem):
        log.add([entry(), entry(**fields)])
    assert log.entries() == ()


def test_nothing_cannot_be_added(log: Log) -> None:
    with pytest.raises(LogError, match="nothing to add"):
        log.add([])


def test_a_correction_changes_what_it_names(log: Log) -> None:
    log.add([FULL, entry()])
    after = log.correct(1, note="calm", felt_pct=None)
    assert (after.note, after.felt_pct, after.split_ms) == ("calm", None, FULL.split_ms)
    assert log.entries() == (after, entry())


def test_a_correction_that_says_the_same_is_no_change(log: Log) -> None:
    batch = log.add([FULL])
    log.correct(1, note=FULL.note)
    assert log.undo().batch == batch


def test_a_correction_is_checked_like_an_entry(log: Log) -> None:
    log.add([entry()])
    with pytest.raises(LogError, match="rate is beyond"):
        log.correct(1, rate=400)
    assert log.entries() == (entry(),)


def test_an_id_is_no_field_to_correct(log: Log) -> None:
    log.add([entry()])
    with pytest.raises(TypeError, match="no field 'id'"):
        log.correct(1, id=7)


def test_all_or_none_are_removed(log: Log) -> None:
    log.add([entry(), entry(rate=22)])
    with pytest.raises(LogError, match=r"(?s)'7'.*no result of that number"):
        log.remove([1, 7])
    assert len(log.entries()) == 2
    assert log.remove([2, 2]) == (entry(rate=22),)
    assert log.entries() == (entry(),)


@pytest.mark.parametrize("number", [0, -1, 2**63, 10**30])
def test_a_number_that_is_nobodys_is_refused(log: Log, number: int) -> None:
    with pytest.raises(LogError, match="no result of that number"):
        log.entry(number)


# ----------------------------------------------------------- bringing in


def test_what_is_there_already_is_passed_over_and_counted(log: Log) -> None:
    log.add([entry()])
    done = log.import_entries([entry("MAREN holt", note="again"), entry(rate=22)])
    assert (done.added, done.known) == (1, 1)
    assert [one.rate for one in log.entries()] == [20, 22]


def test_what_was_rowed_twice_is_there_twice(log: Log) -> None:
    done = log.import_entries([entry(), entry()])
    assert (done.added, done.known) == (2, 0)
    done = log.import_entries([entry(), entry(), entry()])
    assert (done.added, done.known) == (1, 2)


def test_an_import_of_nothing_new_is_no_batch(log: Log) -> None:
    batch = log.add([entry()])
    assert log.import_entries([entry()]).batch is None
    assert log.undo().batch == batch


# ------------------------------------------------------------- undoing


def test_undo_says_what_it_took_back(log: Log) -> None:
    log.add([entry(), entry("Idris Vale"), entry(rate=22)])
    undone = log.undo()
    assert (undone.action, undone.results) == ("add", 3)
    assert undone.rowers == ("Maren Holt", "Idris Vale")


def test_nothing_to_undo_is_said(log: Log) -> None:
    with pytest.raises(LogError, match="nothing to undo"):
        log.undo()


STEPS = st.lists(
    st.one_of(
        st.tuples(st.just("add"), st.lists(ENTRIES, min_size=1, max_size=3)),
        st.tuples(st.just("import"), st.lists(ENTRIES, min_size=1, max_size=3)),
        st.tuples(st.just("correct"), st.integers(0, 9), st.integers(10, 60)),
        st.tuples(st.just("remove"), st.sets(st.integers(0, 9), min_size=1, max_size=3)),
        st.tuples(st.just("undo")),
    ),
    max_size=12,
)


def do(log: Log, step: tuple[object, ...], there: list[int]) -> None:
    """Do one step; numbers in it stand for results that are there."""
    match step:
        case ("add", list(entries)):
            log.add(entries)
        case ("import", list(entries)):
            log.import_entries(entries)
        case ("correct", int(which), int(rate)):
            log.correct(there[which % len(there)], rate=rate)
        case ("remove", set(which)):
            log.remove({there[one % len(there)] for one in which})


@settings(max_examples=60, deadline=None)
@given(steps=STEPS)
def test_undo_takes_back_step_by_step(
    tmp_path_factory: pytest.TempPathFactory, steps: list[tuple[object, ...]]
) -> None:
    """The model is a pile of whole logs: each change lays one on top, undo takes one off."""
    with open_log(tmp_path_factory.mktemp("undo") / "results.db") as log:
        log._connection.execute("PRAGMA synchronous = OFF")  # no power is cut here
        pile: list[tuple[LogEntry, ...]] = [()]
        for step in steps:
            there = [one.id for one in log.entries() if one.id is not None]
            if step[0] == "undo" and len(pile) > 1:
                log.undo()
                pile.pop()
            elif step[0] in ("add", "import") or (there and step[0] != "undo"):
                do(log, step, there)
                if log.entries() != pile[-1]:
                    pile.append(log.entries())
            assert log.entries() == pile[-1]
        while len(pile) > 1:
            log.undo()
            pile.pop()
            assert log.entries() == pile[-1]
        with pytest.raises(LogError, match="nothing to undo"):
            log.undo()


# ------------------------------------------------------------ the edges


def test_a_value_that_another_program_spoilt_is_said(path: Path) -> None:
    with open_log(path) as log:
        log.add([entry()])
    with closing(sqlite3.connect(path)) as other, other:
        other.execute("UPDATE result SET kind = 'sprint'")
    with open_log(path) as log, pytest.raises(LogError, match=r"(?s)cannot be read.*'sprint'"):
        log.entries()


def test_a_writer_in_the_way_is_said(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("cuegen.log.schema.BUSY_S", 0.05)
    with open_log(path) as log, closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(LogError, match="another program is writing"):
            log.add([entry()])
        other.execute("ROLLBACK")
        assert log.add([entry()]) == 1


def test_a_date_before_1000_is_kept_apart_from_later_ones(log: Log) -> None:
    """Days are compared as text: they must all have four digits of a year."""
    log.add([entry(day=date(999, 1, 1)), entry(day=date(1999, 1, 1))])
    assert [one.day.year for one in log.entries(since=date(1000, 1, 1))] == [1999]
