"""What a take is called, and which line a file's name means.

Conventions
    Two lines are the same line where their words are: capitals, punctuation and
    apostrophes do not count (`words_key`). A take's name is made of nothing but
    these words, a few of them to read and LETTERS letters drawn from all of them:
    `rate-up-twenty-kdwpr`. So it changes with the line's own words and with nothing
    else. The letters are consonants, so that they spell no word.

Contents
    words_key       what two wordings of one line have in common
    take_name       the name of a line's take
    read_name       what the name of a file may mean
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from hashlib import sha256

LETTERS = 5
_ALPHABET = "bcdfghjklmnpqrstvwxz"
_READ_WORDS, _READ_LENGTH = 5, 32

_APOSTROPHES = re.compile("['\u2018\u2019\u02bc`]")
_WORD = re.compile(r"[^\W_]+")
_AGAIN = re.compile(r"(?:[ _-]*\(\d+\)|[ _-]+copy(?:[ _-]+\d+)?)+$", re.IGNORECASE)
"""What a computer adds to the name of a second file: " (2)", " - copy"."""
_NUMBERED = re.compile(r"(?:line|take)?[ _-]*0*(\d{1,4})", re.IGNORECASE)
_LETTERS_LAST = re.compile(rf"(?:^|[ _-])([{_ALPHABET}]{{{LETTERS}}})$")


def words_key(text: str) -> str:
    """Return the words alone, lower case, one space between them."""
    plain = _APOSTROPHES.sub("", unicodedata.normalize("NFKC", text).casefold())
    return " ".join(_WORD.findall(plain))


def take_name(text: str) -> str:
    """Return the name of the take of a line, the same for every wording of the same words."""
    key = words_key(text)
    readable = unicodedata.normalize("NFKD", key).encode("ascii", "ignore").decode()
    words: list[str] = []
    for word in readable.split()[:_READ_WORDS]:
        if len("-".join([*words, word])) <= _READ_LENGTH:
            words.append(word)
    return "-".join([*(words or ["line"]), letters_of(key)])


def letters_of(key: str) -> str:
    """Return the letters that stand for all words of a line."""
    number = int.from_bytes(sha256(key.encode()).digest()[:8])
    letters = ""
    for _ in range(LETTERS):
        number, which = divmod(number, len(_ALPHABET))
        letters += _ALPHABET[which]
    return letters


@dataclass(frozen=True, slots=True)
class FileName:
    """What a file's name may mean: words_key of it, the letters at its end, a number."""

    key: str
    letters: str | None
    number: int | None


def read_name(stem: str) -> FileName:
    """Return the readings of a file's name without its ending."""
    plain = _AGAIN.sub("", unicodedata.normalize("NFC", stem)).strip()
    found = _LETTERS_LAST.search(plain.casefold())
    numbered = _NUMBERED.fullmatch(plain)
    return FileName(
        words_key(plain.replace("_", " ")),
        found[1] if found else None,
        int(numbered[1]) if numbered else None,
    )
