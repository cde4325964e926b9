"""A phrase book is read whole or refused with its line, and can do no harm."""

from __future__ import annotations

from pathlib import Path

import pytest
from jinja2.meta import find_undeclared_variables
from jinja2.sandbox import SandboxedEnvironment

from cuegen.errors import PhraseError
from cuegen.plan.model import Audience, Rate
from cuegen.script.book import Occasion, PhraseBook
from cuegen.script.fields import FIELDS, filters
from cuegen.script.kinds import CUE_KINDS, TECHNIQUE_CASES, CueKind, hearers
from cuegen.script.phrase import tidy, unspeakable
from cuegen.script.phrasebook import find_book, house_books, load_book, read_book
from cuegen.script.spoken import spoken_forms
from cuegen.script.themes import load_themes, read_themes
from tests.script.outlines import plain

OWN = "book: ours\nextends: plain\nlines:\n"


def own(lines: str) -> PhraseBook:
    return read_book(OWN + lines, "ours.yaml", base=plain())


def refused(text: str, base: PhraseBook | None = None) -> PhraseError:
    with pytest.raises(PhraseError) as caught:
        read_book(text, "ours.yaml", base=base)
    return caught.value


@pytest.mark.parametrize("name", ["plain", "calm", "brisk"])
class TestHouseBooks:
    def test_have_lines_for_every_kind_case_and_audience(self, name: str) -> None:
        book = find_book(name)
        for kind, spec in CUE_KINDS.items():
            if spec.written and kind is not CueKind.TECHNIQUE:
                for case in spec.cases or (None,):
                    for audience in hearers(case):
                        assert book.suiting(Occasion(kind, audience, case)), (kind, case)

    def test_teach_twelve_themes_in_every_stage(self, name: str) -> None:
        """A theme comes up about once in two pieces: eight lines last for a block of weeks."""
        book = find_book(name)
        assert book.taught == {theme.name for theme in book.themes}
        assert len(book.taught) == 12
        for theme in book.taught:
            for case in TECHNIQUE_CASES:
                occasion = Occasion(CueKind.TECHNIQUE, Audience.GROUP, case, theme)
                assert len(book.suiting(occasion)) >= 8, (theme, case)


class TestPlain:
    def test_says_nothing_twice(self) -> None:
        """Two phrases of the same words would silence one of two cues."""
        texts = [
            phrase.source
            for line in plain().lines
            if not CUE_KINDS[line.kind].firm
            for phrase in line.phrases
            if "{" not in phrase.source  # with a field in it, its value tells them apart
        ]
        assert sorted({text for text in texts if texts.count(text) > 1}) == []

    def test_lengths_fall_from_long_to_short(self) -> None:
        for line in plain().lines:
            sizes = [len(phrase.source) for phrase in line.phrases]
            assert sizes == sorted(sizes, reverse=True), line.key

    def test_mentions_only_fields_that_jinja_finds_too(self) -> None:
        """Oracle: jinja2.meta.find_undeclared_variables."""
        environment = SandboxedEnvironment()
        environment.filters.update(filters(spoken_forms("en")))
        for line in plain().lines:
            for phrase in line.phrases:
                tree = environment.parse(phrase.source)
                assert phrase.fields == find_undeclared_variables(tree)

    def test_names_the_warning_signs_and_defers_in_every_full_caution(self) -> None:
        for line in plain().suiting(Occasion(CueKind.CAUTION, Audience.GROUP)):
            for phrase in line.phrases:
                said = phrase.say({}).lower()
                assert "stop" in said
                for sign in ("chest pain", "dizziness", "unusual breathlessness"):
                    assert sign in said
            assert "coach" in line.phrases[0].source
            assert "clinician" in line.phrases[0].source

    def test_every_field_of_every_kind_is_in_the_table(self) -> None:
        for spec in CUE_KINDS.values():
            assert spec.fields <= FIELDS.keys()


class TestOwnBook:
    def test_adds_its_lines_to_the_book_it_extends(self) -> None:
        book = own("  settle:\n    - Swing along.\n")
        assert len(book.lines) == len(plain().lines) + 1
        assert book.lines[-1].phrases[0].say({}) == "Swing along."

    def test_replaces_the_kinds_it_says(self) -> None:
        text = "extends: plain\nreplace: [finish]\nlines:\n  finish:\n    - Home.\n"
        book = read_book(text, "ours.yaml", base=plain())
        lines = book.suiting(Occasion(CueKind.FINISH, Audience.SOLO))
        assert [line.key for line in lines] == ["Home."]

    def test_brings_a_theme_of_its_own(self) -> None:
        text = (
            "extends: plain\nthemes:\n  boat-feel: {rates: 16-22}\n"
            "lines:\n  technique:\n    - theme: boat-feel\n      lines: [Feel it run.]\n"
        )
        book = read_book(text, "ours.yaml", base=plain())
        assert "boat-feel" in book.taught
        theme = book.theme("boat-feel")
        assert theme is not None
        assert theme.suits(Rate(18, 20))
        assert not theme.suits(Rate(24, 24))

    def test_is_found_by_its_path(self, tmp_path: Path) -> None:
        path = tmp_path / "ours.yaml"
        path.write_text(OWN + "  settle:\n    - Swing along.\n", encoding="utf-8")
        assert find_book(str(path)).name == "ours"

    def test_extends_a_book_beside_it(self, tmp_path: Path) -> None:
        (tmp_path / "a.yaml").write_text(OWN + "  settle: [Swing along.]\n", encoding="utf-8")
        (tmp_path / "b.yaml").write_text("extends: ./a.yaml\n", encoding="utf-8")
        assert load_book(tmp_path / "b.yaml").lines[-1].key == "Swing along."

    def test_one_phrase_serves_all_lengths_and_three_are_long_medium_short(self) -> None:
        book = own("  settle:\n    - Easy.\n    - Long one now. / Long one. / Long.\n")
        assert [len(line.phrases) for line in book.lines[-2:]] == [1, 3]

    def test_a_line_bound_to_rates_is_said_only_there(self) -> None:
        book = own("  offer:\n    - rates: 26-30\n      lines: [Fly.]\n")
        at_28 = Occasion(CueKind.OFFER, Audience.GROUP, rate=Rate(28, 28))
        at_20 = Occasion(CueKind.OFFER, Audience.GROUP, rate=Rate(20, 20))
        assert "Fly." in [line.key for line in book.suiting(at_28)]
        assert "Fly." not in [line.key for line in book.suiting(at_20)]


class TestRefusals:
    """One rule is broken in each."""

    @pytest.mark.parametrize(
        ("line", "problem"),
        [
            ('"{% for a in rate %}x{% endfor %}"', "a loop has no place"),
            ('"{% macro a() %}x{% endmacro %}"', "a macro has no place"),
            ("\"{% include 'a' %}\"", "an include has no place"),
            ("\"{% import 'a' as a %}\"", "an import has no place"),
            ("\"{% extends 'a' %}\"", "an extends has no place"),
            ('"{% set a = 1 %}x"', "a set has no place"),
            ('"{{ rate() }}"', "a call has no place"),
            ('"{{ rate.low }}"', "an attribute has no place"),
            ("\"{{ rate['low'] }}\"", "an item has no place"),
            ("\"{{ 'x' * 999999999 }}\"", "arithmetic has no place"),
            ('"{{ 9 ** 9 ** 9 }}"', "arithmetic has no place"),
            ('"{{ range(9) }}"', "a call has no place"),
            ('"{{ rate is defined }}"', "a test has no place"),
            ('"{{ [1, 2] }}"', "List has no place"),
            ('"{{ rate | upper }}"', "there is no filter 'upper'"),
            ('"{{ rate | rate(2) }}"', "takes nothing in brackets"),
            ('"{{ rats | rate }}"', "a settle line has no field 'rats'"),
            ('"{{ rate | rate "', "this phrase is no template"),
            ('"{{ rate }}"', "cannot be spoken"),
            ('"{{ rate | split }}"', "this phrase cannot be spoken"),
            ("Rate 20.", "'20' in 'Rate 20.' cannot be spoken"),
            ("Push & pull.", "'&' in 'Push & pull.' cannot be spoken"),
            ("Hold 80%.", "cannot be spoken"),
            ("'...'", "cannot be spoken"),
            ("a / b / c / d", "at most 3 phrases, not 4"),
            ("x" * 301, "301 letters, over the 300"),
            ("x" * 601, "601 characters long, over 600"),
        ],
    )
    def test_a_phrase(self, line: str, problem: str) -> None:
        error = refused(OWN + f"  settle:\n    - Fine.\n    - {line}\n", base=plain())
        assert problem in error.problem
        assert (error.where.file, error.where.line) == ("ours.yaml", 6)

    def test_the_nearest_field_is_offered(self) -> None:
        error = refused(OWN + '  settle:\n    - "{{ effrt | percent }}"\n', base=plain())
        assert error.remedy == "Did you mean 'effort'?"

    def test_a_forgotten_filter_is_named_in_the_remedy(self) -> None:
        error = refused(OWN + '  settle:\n    - "Rate {{ effort }}."\n', base=plain())
        assert "{{ effort | percent }}" in error.remedy

    @pytest.mark.parametrize(
        ("text", "problem", "line"),
        [
            ("lines: [", "this bracket is not closed", 1),
            ("lines:\n  settle: {{ rate }}\n", "a field name is one text", 2),
            ("a: &a x\nlines: *a\n", "anchors (&name) and aliases (*name) have no place", 1),
            ("book: !!python/name:os.system x\n", "tags (!name) have no place", 1),
            ("", "this file is empty", None),
            ("just words", "a phrase book should be names with values", 1),
            ("nmae: ours\n", "a phrase book has no 'nmae'", 1),
            ("book: a\nbook: b\n", "this field stands twice", 2),
            ("lines:\n  setle: [x]\n", "there is no cue kind 'setle'", 2),
            ("lines:\n  own: [x]\n", "there is no cue kind 'own'", 2),
            ("lines:\n  settle: x\n", "settle should be a list", 2),
            ("lines:\n  settle:\n    - [x]\n", "should be names with values", 3),
            ("lines:\n  settle:\n    - whn: work\n", "has no 'whn'", 3),
            ("lines:\n  settle:\n    - when: work\n", "this group has no lines", 3),
            ("lines:\n  settle:\n    - {when: wrok, lines: [x]}\n", "has no 'when'", 3),
            ("lines:\n  offer:\n    - {when: work, lines: [x]}\n", "has no 'when'", 3),
            ("lines:\n  settle:\n    - {audience: crowd, lines: [x]}\n", "has no 'audience'", 3),
            ("lines:\n  settle:\n    - {theme: catch, lines: [x]}\n", "has no 'theme'", 3),
            ("lines:\n  settle:\n    - {rates: 20, lines: [x]}\n", "no band of rates", 3),
            ("lines:\n  settle:\n    - {rates: 22-20, lines: [x]}\n", "no band of rates", 3),
            ("lines:\n  technique:\n    - Row.\n", "a technique line needs its theme", 3),
            ("lines:\n  settle:\n    - ''\n", "should be a text", 3),
            ("lines:\n  beat:\n    - And go.\n", "a beat is one word", 3),
            ("language: xx\n", "no spoken numbers for the language 'xx'", 1),
            ("replace: [nothing]\n", "there is no cue kind 'nothing'", 1),
            ("themes:\n  x1: {rates: 16-20}\n", "a theme's name is letters", 2),
            ("themes:\n  feel: {summary: x}\n", "has no rates", 2),
            ("extends: plain\n", "is not at hand", 1),
            ("[" * 5_000, "nested too deeply", None),
            ("x" * 1_000_001, "over 1000000", None),
        ],
    )
    def test_a_book(self, text: str, problem: str, line: int | None) -> None:
        error = refused(text)
        assert problem in error.problem
        assert error.where.file == "ours.yaml"
        assert line is None or error.where.line == line

    def test_an_unknown_theme_with_the_nearest_one(self) -> None:
        lines = "  technique:\n    - {theme: cathc, lines: [Row.]}\n"
        error = refused(OWN + lines, base=plain())
        assert "there is no theme 'cathc'" in error.problem
        assert "'catch'" in error.remedy

    def test_missing_kinds_are_named(self) -> None:
        error = refused("lines:\n  settle:\n    - {when: work, lines: [x]}\n")
        assert "beat (when: count, go)" in error.problem
        assert "settle (when: warm-up, paddle, rest)" in error.problem
        assert "caution" in error.problem
        assert "own" not in error.problem.split()

    def test_a_circle_of_books(self, tmp_path: Path) -> None:
        (tmp_path / "a.yaml").write_text("extends: ./b.yaml\n", encoding="utf-8")
        (tmp_path / "b.yaml").write_text("extends: ./a.yaml\n", encoding="utf-8")
        with pytest.raises(PhraseError, match="extend one another in a circle"):
            load_book(tmp_path / "a.yaml")

    def test_a_missing_book_offers_the_nearest(self) -> None:
        with pytest.raises(PhraseError, match="no phrase book 'plian'") as caught:
            find_book("plian")
        assert "'plain'" in caught.value.remedy

    def test_a_missing_path(self, tmp_path: Path) -> None:
        with pytest.raises(PhraseError, match="there is no such phrase book"):
            find_book(str(tmp_path / "none.yaml"))

    def test_a_language_without_forms(self) -> None:
        with pytest.raises(PhraseError, match="no spoken numbers for the language 'de'"):
            find_book("plain", "de")

    def test_a_template_that_grows_without_end_is_refused(self) -> None:
        bomb = '"{{ 10 ** 10 ** 10 }}{% for a in range(10**9) %}{% endfor %}"'
        refused(OWN + f"  settle:\n    - {bomb}\n", base=plain())


class TestLines:
    @pytest.mark.parametrize(
        ("raw", "line"),
        [
            ("  two   minutes left . ", "Two minutes left."),
            ("go. then stop? yes", "Go. Then stop? Yes"),
            ("a , b", "A, b"),
        ],
    )
    def test_a_line_is_tidied(self, raw: str, line: str) -> None:
        assert tidy(raw) == line

    @pytest.mark.parametrize("line", ["Élan, s'il vous plaît.", "Right up to it: now; go!", "खींचो"])
    def test_letters_of_any_script_are_speakable(self, line: str) -> None:
        assert unspeakable(line) == ""

    @pytest.mark.parametrize(("line", "signs"), [("a<b>", "<>"), ("4 x 4", "4"), ("!?", "!?")])
    def test_what_is_no_word_is_not(self, line: str, signs: str) -> None:
        assert unspeakable(line) == signs

    def test_an_if_that_leaves_nothing_says_nothing(self) -> None:
        book = own(
            "  target:\n    - \"{% if step == 'up' %}More.{% endif %}\"\n",
        )
        phrase = book.lines[-1].phrases[0]
        assert (phrase.say({"step": "up"}), phrase.say({"step": "down"})) == ("More.", "")

    def test_a_value_that_the_cue_lacks_is_an_error_not_a_gap(self) -> None:
        phrase = own('  settle:\n    - "Rate {{ rate | rate }}."\n').lines[-1].phrases[0]
        with pytest.raises(PhraseError, match="'rate' is undefined"):
            phrase.say({})


def test_themes_of_the_list_have_bands_that_cover_every_training_rate() -> None:
    themes = load_themes()
    for rate in range(14, 41):
        assert any(theme.suits(Rate(rate, rate)) for theme in themes)


def test_a_list_of_themes_with_an_unknown_name_is_refused() -> None:
    with pytest.raises(PhraseError, match="has no 'theems'"):
        read_themes("theems: {}\n", "themes.yaml")


@pytest.mark.parametrize("name", sorted(house_books()))
def test_every_phrase_of_our_books_can_be_said_on_sample_values(name: str) -> None:
    """For a session they are read untried, since thousands of trials take half a second."""
    assert load_book(house_books()[name], tried=True).name == name


def test_a_book_of_a_coachs_own_is_tried_when_it_is_read(tmp_path: Path) -> None:
    own = tmp_path / "mine.yaml"
    own.write_text("extends: plain\nlines:\n  settle:\n    - Row at 20.\n")
    with pytest.raises(PhraseError, match=r"'20' in 'Row at 20\.' cannot be spoken"):
        load_book(own)
