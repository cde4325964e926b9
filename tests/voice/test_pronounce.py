"""The pronunciation list, and what engines and aligner are given from it."""

# ruff: noqa: RUF001 - phonemes look like letters and quotation marks

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import hibari
import pocketsphinx
import pytest

from cuegen.errors import VoiceError
from cuegen.resources import shared_dir
from cuegen.voice.pronounce import (
    ARPABET,
    PHONEMES,
    Pronunciation,
    Pronunciations,
    load_pronunciations,
    parse_pronunciations,
)

WORDS = Pronunciations(
    {
        "bow": Pronunciation("bˈW", "bough", ("B", "AW")),
        "erg": Pronunciation(arpabet=("ER", "G")),
        "AT": Pronunciation("ˌAtˈi", "eigh tee", ("EY", "T", "IY")),
        "UT2": Pronunciation(respell="U T two"),
    }
)


@pytest.mark.parametrize(
    ("text", "natural", "others"),
    [
        ("Sit at the bow.", "Sit at the [bow](/bˈW/).", "Sit at the bough."),
        ("Bow, stroke!", "[Bow](/bˈW/), stroke!", "bough, stroke!"),
        ("Hold AT.", "Hold [AT](/ˌAtˈi/).", "Hold eigh tee."),
        ("UT2 pace", "UT2 pace", "U T two pace"),
        ("Elbows on the erg", "Elbows on the erg", "Elbows on the erg"),
        ("  two\n lines ", "two lines", "two lines"),
        ("a [note](/x/) [[x]]", "a note (/x/) x", "a note (/x/) x"),
    ],
)
def test_each_engine_is_given_words_its_own_way(text: str, natural: str, others: str) -> None:
    assert WORDS.spoken(text, "natural") == natural
    assert WORDS.spoken(text, "small") == others
    assert WORDS.spoken(text, "piper") == others


def test_arpabet_is_looked_up_as_written_and_none_is_for_the_dictionary_to_answer() -> None:
    assert WORDS.arpabet("Erg") == ("ER", "G")
    assert WORDS.arpabet("AT") == ("EY", "T", "IY")
    assert WORDS.arpabet("at") is None
    assert WORDS.arpabet("UT2") is None
    assert WORDS.arpabet("stroke") is None


@pytest.mark.parametrize(
    ("text", "line", "why"),
    [
        ("bow: {phonemes: bˈW}\nerg: {arpabet: ER GG}", 2, "'GG' is no symbol of arpabet"),
        ("bow: {phonemes: b4}", 1, "'4' is no symbol of phonemes"),
        ("\nbow: {respell: b0ugh}", 2, "plain letters and spaces"),
        ("bow: {say: bough}", 1, "has no 'say'"),
        ("warm-up: {arpabet: W}", 1, "'warm-up' is not one word"),
        ("bow: {arpabet: B AW}\nbow: {arpabet: B OW}", 2, "'bow': this field stands twice"),
        ("bow: bough", 1, "should be names with values"),
        ("- bow", 1, "should be names with values"),
        ("bow: {arpabet: }", 1, "should be a text"),
        ("bow: {arpabet: [", 1, "this bracket is not closed"),
    ],
)
def test_a_list_that_is_wrong_is_refused_with_its_line(text: str, line: int, why: str) -> None:
    with pytest.raises(VoiceError, match=why) as caught:
        parse_pronunciations(text, "list.yaml")
    assert (caught.value.where.file, caught.value.where.line) == ("list.yaml", line)


def test_a_word_that_says_nothing_is_refused() -> None:
    with pytest.raises(VoiceError, match="'bow' says nothing"):
        parse_pronunciations("bow: {}", "list.yaml")


def test_the_list_of_the_package_loads_and_the_trade_s_words_are_in_it() -> None:
    words = load_pronunciations()
    for word in ("erg", "ergs", "spm", "glutes", "shins", "sternum", "rowers", "coxswain", "bow"):
        assert words.arpabet(word) is not None, word
    assert words.arpabet("row") == ("R", "OW")


def test_every_word_the_aligner_lacks_has_its_phones_in_the_list() -> None:
    """pocketsphinx 5.1.1's own en-us dictionary is the outside truth."""
    words = load_pronunciations()
    lacking = [word for word in words.words() if word.lower() not in _dictionary()]
    assert len(lacking) > 30
    assert [word for word in lacking if words.arpabet(word) is None] == []


def test_row_and_bow_agree_with_a_reading_of_the_aligner_s_dictionary() -> None:
    for word in ("row", "bow", "catch"):
        phones = load_pronunciations().arpabet(word)
        assert phones is not None
        assert " ".join(phones) in _dictionary()[word], word


def test_the_alphabets_are_those_of_aligner_and_voice() -> None:
    """Phones as pocketsphinx's dictionary uses them; symbols that hibari's model has an id for."""
    used = {
        phone for readings in _dictionary().values() for text in readings for phone in text.split()
    }
    assert used == ARPABET
    vocabulary = Path(hibari.__file__).parent / "assets" / "vocab.json"
    assert set(json.loads(vocabulary.read_text(encoding="utf-8"))) >= PHONEMES


def test_the_natural_voice_takes_the_phonemes_of_the_list_as_they_are() -> None:
    text = load_pronunciations().spoken("Bow, catch the row. UT2.", "natural")
    assert hibari.Hibari().phonemize(text) == ["bˈW, kˈæʧ ðə ɹˈO.", "jˌutˌitˈu."]


@cache
def _dictionary() -> dict[str, list[str]]:
    """Return the readings of each word in pocketsphinx's dictionary."""
    folder = Path(pocketsphinx.__file__).parent
    (path,) = folder.rglob("cmudict-en-us.dict")
    readings: dict[str, list[str]] = {}
    for line in path.read_text(encoding="utf-8").splitlines():
        word, _, phones = line.partition(" ")
        readings.setdefault(word.partition("(")[0], []).append(phones.strip())
    return readings


def test_the_list_says_of_itself_what_its_fields_are() -> None:
    head = (shared_dir() / "pronunciations.yaml").read_text(encoding="utf-8")
    assert all(f"#   {field} " in head for field in ("phonemes", "respell", "arpabet"))
