"""Counts, changes, ends, halfway and the coach's own lines stand where the plan puts them."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from cuegen.errors import PhraseError, PlanError, Where
from cuegen.plan.model import Break, Distance, Entry, SayLine, SegmentKind, Session, SplitTarget
from cuegen.script.candidate import Candidate, Script
from cuegen.script.fields import FIELDS
from cuegen.script.kinds import CUE_KINDS, CueKind
from cuegen.script.own import in_words
from cuegen.script.phrasebook import find_book, read_book
from cuegen.script.spoken import spoken_forms
from tests.script.outlines import by_id, of_kind, plain, script_of, session
from tests.script.words import CARDINAL, number
from tests.targets.plans import COOL_DOWN, PADDLE, REST, ROW, WARM_UP, entry, minutes

LEAD = 30_000
"""Where rowing starts on the track, by default."""


HOUSE = ("plain", "calm", "brisk")

MARKED = read_book(
    """
extends: plain
replace: [start, rate-change, segment-end, halfway]
lines:
  start:
    - {when: go, lines: [Off.]}
    - when: next-piece
      lines: |
        On, {{ piece | count }} of {{ pieces | count }}.
  rate-change:
    - when: up
      lines: |
        Climb {{ piece | count }} of {{ pieces | count }}, {{ rate | rate }}.
    - when: down
      lines: |
        Fall {{ piece | count }} of {{ pieces | count }}, {{ rate | rate }}.
    - when: change
      lines: |
        Shift {{ piece | count }} of {{ pieces | count }}, {{ rate | rate }}.
  segment-end:
    - when: paddle
      lines: |
        Float. {{ done | count }} done.
    - when: rest
      lines: |
        Sit. {{ done | count }} done.
    - when: cool-down
      lines: |
        Wane. {{ done | count }} done.
  halfway: [This is the half of it. / Half of it.]
""",
    "marked.yaml",
    base=plain(),
)
"""A book whose calls tell which case was asked for, and with which values."""


def _figures(text: str) -> str:
    """Return a text with its number words as figures."""
    return re.sub(CARDINAL, lambda found: str(number(found[0].lower())), text)


def firm(script: Script) -> dict[str, tuple[int, str]]:
    """Return the instants (from the start of rowing, in ms) and first texts of firm cues."""
    return {c.id: (c.prefer_ms - LEAD, _text(c)) for c in script.candidates if c.firm}


def _text(candidate: Candidate) -> str:
    return candidate.wordings[0].text


def build(count_in: int = 3) -> Session:
    """Warm-up 4:00, two steps of 3:00 at rates 18 and 20, cool-down 2:00: 12:00 in all."""
    laid = entry(WARM_UP, 4, 18), entry(ROW, 3, 18, 20, line=4), entry(COOL_DOWN, 2)
    return session(*laid, count_in=count_in)


class TestStarts:
    def test_the_session_is_counted_in_and_go_is_on_the_first_stroke(self) -> None:
        cues = firm(script_of(build()))
        assert cues["s01.beat.3"] == (-3_000, "Three.")
        assert cues["s01.beat.2"] == (-2_000, "Two.")
        assert cues["s01.beat.1"] == (-1_000, "One.")
        assert cues["s01.beat.go"] == (0, "Go.")

    def test_work_after_a_warm_up_is_a_start(self) -> None:
        cues = firm(script_of(build()))
        assert cues["s02.beat.go"] == (240_000, "Go.")
        assert cues["s02.beat.3"] == (237_000, "Three.")

    def test_count_in_says_how_many_beats(self) -> None:
        cues = firm(script_of(build(count_in=5)))
        assert cues["s01.beat.5"] == (-5_000, "Five.")
        assert "s01.beat.6" not in cues

    def test_without_a_count_the_boundary_lines_stand_alone(self) -> None:
        script = script_of(build(count_in=0))
        assert of_kind(script, CueKind.BEAT) == []
        cues = firm(script)
        assert cues["s01.start"] == (0, "Go.")
        assert cues["s02.start"] == (240_000, "Go.")
        assert cues["s03.rate"][0] == 420_000
        assert cues["s04.ease"][0] == 600_000
        assert cues["finish"][0] == 720_000

    def test_a_piece_after_a_break_starts_with_go_again(self) -> None:
        rest = Break(REST, minutes(1))
        cues = firm(script_of(session(entry(ROW, 3, 20, repeats=2, rest=rest))))
        assert cues["s03.beat.go"] == (240_000, "Go.")

    def test_rowing_off_from_a_rest_is_a_start_even_for_a_cool_down(self) -> None:
        cues = firm(script_of(session(entry(ROW, 3), entry(REST, 1), entry(COOL_DOWN, 2))))
        assert cues["s03.beat.go"] == (240_000, "Go.")

    def test_a_session_that_begins_with_a_rest_has_nothing_to_start(self) -> None:
        cues = firm(script_of(session(entry(REST, 1), entry(ROW, 3))))
        assert not [cue for cue in cues if cue.startswith("s01.")]


class TestChanges:
    def test_a_change_of_rate_is_counted_in_and_said_on_its_instant(self) -> None:
        cues = firm(script_of(build()))
        assert cues["s03.beat.1"] == (419_000, "One.")
        assert cues["s03.rate"][0] == 420_000

    @pytest.mark.parametrize("name", HOUSE)
    def test_the_rate_is_the_last_word_and_a_band_is_said_whole(self, name: str) -> None:
        """The number that matters stands last and alone: common practice, no source."""
        plan = session(entry(ROW, 3, 24, (18, 20), 22), entry(COOL_DOWN, 4))
        script = by_id(script_of(plan, find_book(name)))
        for cue, rate in (("s02.rate", "eighteen to twenty."), ("s03.rate", "twenty-two.")):
            for wording in script[cue].wordings:
                assert wording.text.lower().endswith(rate)

    @pytest.mark.parametrize(
        ("rates", "said"),
        [
            ((24, 20), "Fall 2 of 3, 20."),
            ((20, 24), "Climb 2 of 3, 24."),
            ((20, (18, 22)), "Shift 2 of 3, 18 to 22."),
        ],
    )
    def test_the_words_know_the_direction_the_piece_and_the_rate(
        self, rates: tuple[int | tuple[int, int], ...], said: str
    ) -> None:
        script = script_of(session(entry(ROW, 3, *rates), entry(PADDLE, 1), entry(ROW, 3)), MARKED)
        assert _figures(_text(by_id(script)["s02.rate"])) == said

    def test_at_the_same_rate_the_next_piece_is_named_with_its_number(self) -> None:
        plan = session(entry(ROW, 3, 20, repeats=2), entry(COOL_DOWN, 3))
        assert _text(by_id(script_of(plan, MARKED))["s02.start"]) == "On, two of two."

    @pytest.mark.parametrize(
        ("kind", "said"), [(PADDLE, "Float. "), (REST, "Sit. "), (COOL_DOWN, "Wane. ")]
    )
    def test_the_end_of_work_is_counted_down_to_what_follows(
        self, kind: SegmentKind, said: str
    ) -> None:
        """Each case has words of its own, and knows how many pieces are done."""
        script = script_of(session(entry(ROW, 3, repeats=2), entry(kind, 2)), MARKED)
        assert _text(by_id(script)["s03.ease"]) == f"{said}Two done."
        assert firm(script)["s03.beat.3"] == (357_000, "Three.")

    def test_easing_from_easy_rowing_needs_no_count(self) -> None:
        cues = firm(script_of(session(entry(WARM_UP, 3), entry(REST, 1), entry(ROW, 3))))
        assert cues["s02.ease"][0] == 180_000
        assert "s02.beat.1" not in cues

    def test_a_warm_up_that_runs_on_unchanged_is_not_interrupted(self) -> None:
        cues = firm(script_of(session(entry(WARM_UP, 2, 18, repeats=2), entry(ROW, 3))))
        assert not [cue for cue in cues if cue.startswith("s02.")]

    @pytest.mark.parametrize("name", HOUSE)
    def test_a_call_has_at_most_four_words(self, name: str) -> None:
        """A second and a half at 150 words a minute. A rate and a halfway come on top."""
        book = find_book(name)
        for line in book.lines:
            if CUE_KINDS[line.kind].firm:
                for phrase in line.phrases:
                    values = {field: FIELDS[field].sample for field in phrase.fields}
                    assert len(phrase.say(values).split()) <= 4, phrase.where

    def test_a_cue_points_at_the_line_of_the_plan_that_it_is_about(self) -> None:
        assert by_id(script_of(build()))["s03.rate"].where == Where(file="plan.yaml", line=4)


class TestFinish:
    def test_the_session_ends_on_a_count_of_five(self) -> None:
        cues = firm(script_of(build()))
        assert [cues[f"finish.beat.{n}"] for n in (5, 4, 3, 2, 1)] == [
            (715_000, "Five."),
            (716_000, "Four."),
            (717_000, "Three."),
            (718_000, "Two."),
            (719_000, "One."),
        ]
        assert cues["finish"][0] == 720_000

    def test_a_count_by_default_is_shortened_in_a_short_segment_and_noted(self) -> None:
        script = script_of(session(entry(ROW, 3), entry(COOL_DOWN, 0.1)))
        cues = firm(script)
        assert "finish.beat.4" not in cues
        assert cues["finish.beat.3"] == (183_000, "Three.")
        assert any("the count before 3:06 has 3 beats instead of 5" in n for n in script.notes)

    def test_a_count_that_the_plan_asks_for_is_left_as_it_is(self) -> None:
        plan = session(entry(ROW, 3), entry(PADDLE, 0.05), entry(ROW, 3), count_in=5)
        assert firm(script_of(plan))["s03.beat.5"] == (178_000, "Five.")


class TestDistance:
    def test_the_end_of_a_distance_piece_has_no_count_and_no_firm_line(self) -> None:
        pieces = entry(
            ROW, Distance(750), 24, targets=(SplitTarget(120_000),), repeats=2,
            rest=Break(PADDLE, minutes(1.5)),
        )  # fmt: skip
        script = script_of(session(pieces, entry(COOL_DOWN, 3)))
        cues = firm(script)
        assert not [cue for cue in cues if cue.startswith(("s02.", "s04."))]
        assert cues["s03.beat.go"] == (270_000, "Go.")  # 750 m at 2:00 are 180 s, and 90 s of break

    def test_its_end_is_announced_as_expected(self) -> None:
        piece = entry(ROW, Distance(750), 24, targets=(SplitTarget(120_000),))
        script = script_of(session(piece, entry(COOL_DOWN, 3)))
        cue = by_id(script)["s01.expected-end"]
        assert not cue.firm
        assert {w.earliest_ms - LEAD for w in cue.wordings} == {180_000}
        assert {w.latest_ms - LEAD for w in cue.wordings} == {185_000}

    def test_a_session_that_ends_with_one_has_no_finish(self) -> None:
        piece = entry(ROW, Distance(2_000), 24, targets=(SplitTarget(120_000),))
        script = script_of(session(piece))
        assert of_kind(script, CueKind.FINISH) == []
        (cue,) = of_kind(script, CueKind.EXPECTED_END)
        assert cue.wordings[0].earliest_ms - LEAD == 480_000

    def test_its_metres_are_counted_down_as_about(self) -> None:
        piece = entry(ROW, Distance(1_000), 24, targets=(SplitTarget(120_000),))
        script = script_of(session(piece, entry(COOL_DOWN, 3)))
        left = of_kind(script, CueKind.DISTANCE_LEFT)
        assert [c.id for c in left] == ["s01.metres.500", "s01.metres.250", "s01.metres.100"]
        assert [c.prefer_ms - LEAD for c in left] == [120_000, 180_000, 216_000]
        assert all("bout" in w.text for c in left for w in c.wordings), (
            "a distance left is only expected"
        )
        assert of_kind(script, CueKind.TIME_LEFT) == [
            c for c in of_kind(script, CueKind.TIME_LEFT) if c.segment == 1
        ]


class TestHalfway:
    def test_is_called_on_the_instant(self) -> None:
        plan = session(entry(WARM_UP, 4), entry(ROW, 5), entry(COOL_DOWN, 2))
        (cue,) = of_kind(script_of(plan), CueKind.HALFWAY)
        assert cue.prefer_ms - LEAD == 330_000
        assert {(w.earliest_ms, w.latest_ms) for w in cue.wordings} == {(360_000, 360_000)}

    @pytest.mark.parametrize(
        ("first", "second", "cue"),
        [
            (entry(ROW, 3, 18), entry(ROW, 3, 20), "s02.rate"),
            (entry(ROW, 3), entry(PADDLE, 3), "s02.ease"),
            (entry(WARM_UP, 3), entry(ROW, 3), "s02.start"),
        ],
    )
    def test_on_a_boundary_it_joins_the_line_there(
        self, first: Entry, second: Entry, cue: str
    ) -> None:
        """In the shortest words that the book has for it."""
        script = script_of(session(first, second), MARKED)
        assert of_kind(script, CueKind.HALFWAY) == []
        assert by_id(script)[cue].prefer_ms - LEAD == 180_000
        assert all(w.text.endswith(". Half of it.") for w in by_id(script)[cue].wordings)

    @pytest.mark.parametrize(("paddle_s", "called"), [(10, False), (4, False), (30, True)])
    def test_close_to_a_count_or_a_change_it_is_left_out_and_noted(
        self, paddle_s: int, called: bool
    ) -> None:
        # Half of 3:00, a paddle, 3:00 lies in the middle of the paddle.
        plan = session(entry(ROW, 3), entry(PADDLE, paddle_s / 60), entry(ROW, 3))
        script = script_of(plan)
        assert bool(of_kind(script, CueKind.HALFWAY)) is called
        assert any("halfway of the session is not called" in n for n in script.notes) is not called

    def test_a_session_with_distance_pieces_has_none(self) -> None:
        script = script_of(session(entry(WARM_UP, 10), entry(ROW, Distance(500))))
        assert of_kind(script, CueKind.HALFWAY) == []
        assert any("a prediction" in note for note in script.notes)

    def test_it_gives_way_to_a_line_of_the_coachs_own(self) -> None:
        plan = session(entry(WARM_UP, 4), entry(ROW, 5), entry(COOL_DOWN, 2))
        script = script_of(replace(plan, say=(SayLine("Well rowed so far", at_ms=329_000),)))
        assert of_kind(script, CueKind.HALFWAY) == []
        assert any("a line of the coach's own" in note for note in script.notes)


class TestOwnLines:
    def own(self, *lines: SayLine) -> list[Candidate]:
        return of_kind(script_of(replace(build(), say=lines)), CueKind.OWN)

    def test_an_instant_counts_from_the_start_of_rowing(self) -> None:
        where = Where(file="plan.yaml", line=9)
        (cue,) = self.own(SayLine("open the windows", at_ms=90_000, where=where))
        assert (cue.firm, cue.prefer_ms, cue.segment) == (True, 120_000, 0)
        assert (_text(cue), cue.where) == ("Open the windows", where)

    @pytest.mark.parametrize(("offset", "at_ms"), [(30_000, 270_000), (-15_000, 405_000), (0, 0)])
    def test_an_offset_counts_from_the_segments_start_or_back_from_its_end(
        self, offset: int, at_ms: int
    ) -> None:
        (cue,) = self.own(SayLine("Up", segment=2, offset_ms=offset))
        assert cue.prefer_ms - LEAD == (at_ms or 240_000)

    @pytest.mark.parametrize(
        ("text", "said"),
        [
            ("10 hard strokes", "Ten hard strokes"),
            ("hold 2:04.5, then 80%", "Hold two oh four point five, then eighty percent"),
            ("2:05. 20 strokes.", "Two oh five. Twenty strokes."),
        ],
    )
    def test_figures_are_written_out(self, text: str, said: str) -> None:
        assert _text(self.own(SayLine(text, at_ms=90_000))[0]) == said

    def test_words_with_figures_in_them_are_left_alone(self) -> None:
        assert in_words("the B2 crew, 1.5 times", spoken_forms("en")) == "the B2 crew, 1.5 times"

    @pytest.mark.parametrize(
        ("line", "problem"),
        [
            (SayLine("Power & speed", at_ms=1_000), "'&' in a line of `say` cannot be spoken"),
            (SayLine("Late", at_ms=3_600_000), "outside the session"),
            (SayLine("Where", segment=9), "there is no segment 9"),
        ],
    )
    def test_what_cannot_be_said_is_an_error(self, line: SayLine, problem: str) -> None:
        with pytest.raises(PlanError, match=problem):
            self.own(line)

    def test_two_lines_at_one_instant_keep_ids_apart(self) -> None:
        line = SayLine("Twice", at_ms=90_000)
        assert [cue.id for cue in self.own(line, line)] == ["own.at.90000", "own.at.90000.2"]


def test_a_book_that_is_silent_at_a_firm_cue_is_an_error_naming_it() -> None:
    silent = '{% if rate == "x" %}Rate.{% endif %}'
    text = f"extends: plain\nreplace: [rate-change]\nlines:\n  rate-change:\n    - '{silent}'\n"
    with pytest.raises(PhraseError, match=r"no line for rate-change \(when: up\)"):
        script_of(build(), read_book(text, base=plain()))


def test_a_book_in_another_language_than_the_session_is_an_error() -> None:
    with pytest.raises(PhraseError, match="is in 'en', the session in 'de'"):
        script_of(replace(build(), language="de"))
