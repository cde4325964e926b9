"""Words of a line, and how they are said."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuegen.hearing.lexicon import arpabet_of, derived, listed, possessive, tokens

_CMU = (
    "AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH UH UW "
    "V W Y Z ZH"
)
CMU_PHONES = frozenset(_CMU.split())
"""The 39 phones of the CMU Pronouncing Dictionary, from its documentation."""


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Rate up, twenty-two.", "rate up twenty two"),
        ("Don\u2019t rush, Zo\u00eb \u2014 breathe!", "don't rush zoe breathe"),
        ("Hold 85% & smile", "hold eighty five percent and smile"),
        ("At 20, 22, 24", "at twenty twenty two twenty four"),
        ("Row at UT1, not AT", "row at UT1+ not AT+"),
        ("\u2026!", ""),
    ],
)
def test_a_line_is_read_as_a_voice_reads_it(text: str, words: str) -> None:
    assert tokens(text) == tuple(words.split())


@pytest.mark.parametrize("text", ["Hold 2:04.5", "500m to go", "1500 metres", "r20 now", "\u0416"])
def test_figures_that_voices_read_each_in_their_own_way_are_left_alone(text: str) -> None:
    assert tokens(text) is None


@given(st.text(max_size=60))
def test_no_text_is_too_odd(text: str) -> None:
    found = tokens(text)
    assert found is None or all(word.isascii() and word.strip() == word for word in found)


def test_a_word_only_as_written_is_not_its_common_twin() -> None:
    assert listed("AT+") == "EY T IY"
    assert listed("at") is None


def test_phonemes_of_the_natural_voice_become_cmu_phones() -> None:
    """CMU Pronouncing Dictionary: BIRD B ER1 D, HELLO HH AH0 L OW1, OAR AO1 R."""
    assert arpabet_of("b\u02c8\u025c\u0279d") == "B ER D"
    assert arpabet_of("h\u0259l\u02c8O") == "HH AH L OW"
    assert arpabet_of("\u02c8\u0254\u0279") == "AO R"


@pytest.mark.parametrize(
    ("word", "with_s"),
    [
        ("R EH JH IH S", "R EH JH IH S AH Z"),
        ("CH ER CH", "CH ER CH AH Z"),
        ("P EY T", "P EY T S"),
        ("D AA N", "D AA N Z"),
        ("JH OW", "JH OW Z"),
    ],
    ids=["Regis's", "church's", "Pat's", "Don's", "Joe's"],
)
def test_a_possessive_ends_as_a_plural_does(word: str, with_s: str) -> None:
    """The five kinds of ending by which a grammar of English gives the rule."""
    assert possessive(word) == with_s


@pytest.mark.parametrize("name", ["maren", "idriss", "siobhan", "o'brien's", "thwaite"])
def test_a_name_gets_a_pronunciation(name: str) -> None:
    phones = derived(name)
    assert phones is not None
    assert set(phones.split()) <= CMU_PHONES
