"""How the words of rowing are given to a voice and to the aligner.

Conventions
    The list lies in shared/pronunciations.yaml, which says what its fields are.
    A word in small letters stands for itself however it is written; a word with
    capitals stands only for that writing. The list is English: lines in another
    language go to their voice as they are.

Contents
    Pronunciations          spoken text and ARPAbet, from entries in memory
    parse_pronunciations    the text of a list -> Pronunciations
    load_pronunciations     the edge: the list that comes with the package

Sources: the natural voice's alphabet is that of the misaki G2P as hibari-tts
documents it; ARPAbet is the 39-phone set of the CMU Pronouncing Dictionary,
without stress marks, which is what pocketsphinx's en-us model was trained on.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import cache

from cuegen.errors import VoiceError, Where
from cuegen.files import read_text
from cuegen.plan.tree import Document, Node
from cuegen.resources import shared_dir
from cuegen.script.yamltree import known_mapping, mapping, read_document, scalar

ARPABET = frozenset(
    [
        "AA",
        "AE",
        "AH",
        "AO",
        "AW",
        "AY",
        "B",
        "CH",
        "D",
        "DH",
        "EH",
        "ER",
        "EY",
        "F",
        "G",
        "HH",
        "IH",
        "IY",
        "JH",
        "K",
        "L",
        "M",
        "N",
        "NG",
        "OW",
        "OY",
        "P",
        "R",
        "S",
        "SH",
        "T",
        "TH",
        "UH",
        "UW",
        "V",
        "W",
        "Y",
        "Z",
        "ZH",
    ]
)
"""The 39 phones of the CMU Pronouncing Dictionary."""

PHONEMES = frozenset("AIOWYTbdfhijklmnpstuvwzæðŋɑɔəɛɜɡɪɹʃʊʌʒʤʧθᵊᵻˈˌ")
"""The American part of the misaki alphabet that the natural voice speaks."""

PHONEME_ENGINE = "natural"
"""The engine that takes phonemes, as [word](/phonemes/); the others take a respelling."""

_WORD = re.compile(r"[A-Za-z][A-Za-z0-9]*")
_RESPELLING = re.compile(r"[A-Za-z][A-Za-z' -]*")


@dataclass(frozen=True, slots=True)
class Pronunciation:
    """One word. An empty field: the voice, or the aligner's dictionary, has it right."""

    phonemes: str = ""
    respell: str = ""
    arpabet: tuple[str, ...] = ()


class Pronunciations:
    """The words of a list, looked up as they are written."""

    def __init__(self, entries: Mapping[str, Pronunciation]) -> None:
        self._entries = dict(entries)

    def __len__(self) -> int:
        return len(self._entries)

    def words(self) -> tuple[str, ...]:
        """Return the words of the list, in its order."""
        return tuple(self._entries)

    def spoken(self, text: str, engine: str) -> str:
        """Return a line as the engine is to be given it.

        White space is collapsed, and brackets, which two engines would take for
        phonemes, are left out: a coach's own lines may hold anything.
        """
        plain = " ".join(re.sub(r"[\[\]]", " ", text).split())
        return _WORD.sub(lambda match: self._for_engine(match[0], engine), plain)

    def arpabet(self, word: str) -> tuple[str, ...] | None:
        """Return the phones of a word, None where the aligner's dictionary is to be asked."""
        entry = self._find(word)
        return entry.arpabet or None if entry else None

    def _for_engine(self, word: str, engine: str) -> str:
        entry = self._find(word)
        if entry is None:
            return word
        if engine == PHONEME_ENGINE:
            return f"[{word}](/{entry.phonemes}/)" if entry.phonemes else word
        return entry.respell or word

    def _find(self, word: str) -> Pronunciation | None:
        return self._entries.get(word) or self._entries.get(word.lower())


@cache
def load_pronunciations() -> Pronunciations:
    """Return the list that comes with the package. Raises VoiceError with file and line."""
    path = shared_dir() / "pronunciations.yaml"
    return parse_pronunciations(read_text(path, VoiceError, "pronunciation list"), str(path))


def parse_pronunciations(text: str, file: str) -> Pronunciations:
    """Return the list in a YAML text. Raises VoiceError with file, line and the word."""
    document = read_document(text, file, VoiceError)
    entries = {
        _word(word, where): _entry(word, node, where, document)
        for word, node, where in mapping(document.root, document, "a pronunciation list")
    }
    return Pronunciations(entries)


def _word(word: str, where: Where) -> str:
    if not _WORD.fullmatch(word):
        raise VoiceError(
            f"{word!r} is not one word",
            where=where,
            remedy="A word is letters, then letters or digits; give each part its own entry.",
        )
    return word


def _entry(word: str, node: Node, at: Where, document: Document) -> Pronunciation:
    known = tuple(field.name for field in fields(Pronunciation))
    given = {
        name: (scalar(value, document, f"{name} of {word!r}"), where)
        for name, (value, where) in known_mapping(
            node, document, f"the word {word!r}", known
        ).items()
    }
    if not given:
        raise VoiceError(f"the word {word!r} says nothing", where=at, remedy=_FIELDS)
    for name, (value, where) in given.items():
        _check(name, value, Where(where.file, where.line, where.column, value))
    texts = {name: value for name, (value, _) in given.items()}
    arpabet = tuple(texts.get("arpabet", "").split())
    return Pronunciation(texts.get("phonemes", ""), texts.get("respell", ""), arpabet)


_FIELDS = f"Give it at least one of {', '.join(field.name for field in fields(Pronunciation))}."


def _check(name: str, value: str, where: Where) -> None:
    if name == "respell":
        if not _RESPELLING.fullmatch(value):
            raise VoiceError(
                "a respelling is plain letters and spaces", where=where, remedy="Respell it."
            )
        return
    symbols, known = (value, PHONEMES) if name == "phonemes" else (value.split(), ARPABET)
    for symbol in symbols:
        if symbol not in known:
            raise VoiceError(
                f"{symbol!r} is no symbol of {name}",
                where=where,
                remedy=f"Use only {' '.join(sorted(known))}.",
            )
