"""Words of a line as an aligner needs them: tokens, and a pronunciation for each.

Conventions
    Tokens are lower case, accents dropped, hyphens split, whole numbers up to
    100 read out. A word that the pronunciation list knows only as it is written
    ("AT", "UT1") keeps its writing and ends in a mark, so that it is never taken
    for the common word. Pronunciations are ARPAbet without stress marks, one
    string with spaces, as in the CMU Pronouncing Dictionary.

Where a pronunciation comes from: the aligner's own dictionary (asked by the
caller) and the pronunciation list of the voices; for possessives of those, the rule
of the plural; for words in neither, the grapheme-to-phoneme rules of the natural voice.

Sources: the rule of the plural, any grammar of English; ARPAbet as in the CMU Pronouncing
Dictionary; the phoneme letters of the natural voice are those of the misaki project (capital
letters are diphthongs).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from functools import cache

from num2words import num2words

from cuegen.voice.pronounce import load_pronunciations

MARK = "+"
"""Ends a token that stands for a word only as it is written."""

_PIECE = re.compile(r"[A-Za-z][A-Za-z0-9]*(?:'[A-Za-z]+)*|\d+")
_FIGURES = re.compile(r"[.,:/]?")
"""What stands between the parts of one figure: 2:04.5, 1,500, 500m."""
_APOSTROPHES = str.maketrans("\u2018\u2019\u02bc", "'''")
_SIGNS = {"%": " percent ", "&": " and "}
_LARGEST_READ = 100

# fmt: off
_PHONES = {
    "A": "EY", "I": "AY", "O": "OW", "Q": "OW", "W": "AW", "Y": "OY",
    "a": "AE", "æ": "AE", "ɑ": "AA", "ɒ": "AA", "ɔ": "AO", "o": "OW",
    "ə": "AH", "ɐ": "AH", "ʌ": "AH", "ᵊ": "AH", "e": "EH", "ɛ": "EH",
    "ɜ": "ER", "ɚ": "ER", "i": "IY", "ɪ": "IH", "ᵻ": "IH", "ɨ": "IH",
    "u": "UW", "ʊ": "UH",
    "b": "B", "d": "D", "f": "F", "ɡ": "G", "g": "G", "h": "HH", "j": "Y",
    "k": "K", "x": "K", "l": "L", "m": "M", "n": "N", "ŋ": "NG", "p": "P",
    "ɹ": "R", "r": "R", "s": "S", "ʃ": "SH", "t": "T", "T": "T", "ɾ": "T",
    "ʔ": "T", "θ": "TH", "ð": "DH", "v": "V", "w": "W", "z": "Z", "ʒ": "ZH",
    "ʤ": "JH", "ʧ": "CH",
}
# fmt: on
_SIBILANTS = frozenset(["S", "Z", "SH", "ZH", "CH", "JH"])
_VOICELESS = frozenset(["P", "T", "K", "F", "TH"])
_R_COLOURED = re.compile("(?:ɜː?|ə|ɚ)ɹ")


def tokens(text: str) -> tuple[str, ...] | None:
    """Return the words that a voice speaks for `text`.

    None where that cannot be told: figures that voices read each in their own
    way (2:04.5, 500m, 1500), letters of another alphabet.
    """
    plain = _plain(text)
    if any(letter.isalpha() and letter > "\x7f" for letter in plain):
        return None
    found: list[str] = []
    end = 0
    for piece in _PIECE.finditer(plain):
        joined = plain[end : piece.start()]
        words = _words_of(piece[0])
        if not words or (found and _FIGURES.fullmatch(joined) and piece[0].isdigit()):
            return None
        found += words
        end = piece.end()
    return tuple(found)


def _plain(text: str) -> str:
    plain = text.translate(_APOSTROPHES)
    for sign, word in _SIGNS.items():
        plain = plain.replace(sign, word)
    return "".join(
        mark for mark in unicodedata.normalize("NFKD", plain) if not unicodedata.combining(mark)
    )


def _words_of(piece: str) -> list[str]:
    """Return the tokens of one written word; none where its reading is not known."""
    if piece in _written_words():
        return [piece + MARK]
    if piece.isdigit():
        return _read_out(int(piece)) if int(piece) <= _LARGEST_READ else []
    if any(character.isdigit() for character in piece):
        return []
    return [piece.lower()]


def _read_out(number: int) -> list[str]:
    return re.findall(r"[a-z]+", str(num2words(number)))


def arpabet_of(phonemes: str) -> str:
    """Return ARPAbet for phonemes of the natural voice; stress and length are dropped."""
    spelled = _R_COLOURED.sub("ɚ", phonemes)
    return " ".join(_PHONES[letter] for letter in spelled if letter in _PHONES)


def listed(token: str) -> str | None:
    """Return what the pronunciation list says of a token, None where it is not there."""
    phones = load_pronunciations().arpabet(token.removesuffix(MARK))
    return " ".join(phones) if phones else None


@cache
def derived(token: str) -> str | None:
    """Return a pronunciation by rule, None where no rule can tell how a word is said."""
    word = token.removesuffix(MARK)
    stem = word.removesuffix("'s")
    phones = arpabet_of(_rules()(stem))
    if not phones:
        return None
    return possessive(phones) if stem != word else phones


def possessive(phones: str) -> str:
    """Return the phones of a word with its 's: as the plural is said, by its last sound."""
    last = phones.rsplit(maxsplit=1)[-1]
    if last in _SIBILANTS:
        return f"{phones} AH Z"
    return f"{phones} S" if last in _VOICELESS else f"{phones} Z"


@cache
def _written_words() -> frozenset[str]:
    """Return the words of the list that stand only for one writing: those with capitals."""
    return frozenset(word for word in load_pronunciations().words() if word != word.lower())


@cache
def _rules() -> Callable[[str], str]:
    # Imported late: it costs half a second, and few lines have such words.
    from hibari.g2p import G2P  # noqa: PLC0415

    rules: Callable[[str], str] = G2P()
    return rules
