"""Words of one line, heard by forced alignment and judged against the plan.

Conventions
    Sound is 16 kHz mono, 16-bit little-endian, one line with LEAD_IN_MS of quiet
    before it (the aligner wants at least 250 ms) and TAIL_MS after. Instants are
    milliseconds from the start of that window, at the aligner's 10 ms.

How it is heard
    Not `set_align_text`: that search is content to leave a line's last word to
    its noise fillers. A network of our own (cuegen.hearing.numbers) holds the
    planned words, other numbers and rivals; between words only silence is
    allowed, at a price, so that a path which skips the last word pays for it. A
    quick decoder (every second frame, of its densities the two best) hears each line;
    only what it does not confirm is heard again by a careful one. With all four densities
    it took a seventh longer and confirmed less: of 149 right lines 139 and not 146, of
    308 wrong ones 32 and not 28 (most of which miss a word that is said).

    An alignment that fits badly is no alignment: a line whose mean score per
    10 ms frame falls under LEAST_SCORE is some other line. Right lines of the
    natural voice reached -2.2 at worst, wrong ones -3.4 at best.
"""

from __future__ import annotations

import difflib
import math
import re
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from pocketsphinx import Decoder

from cuegen.hearing import lexicon
from cuegen.hearing.numbers import (
    Grammar,
    choice_grammar,
    exact_grammar,
    line_grammar,
    number_runs,
)

RATE = 16_000
LEAD_IN_MS = 300
TAIL_MS = 150
LEAST_SCORE = -2.8

_FRAME_MS = 10
_SILENCE = "<sil>"
_PAUSE_WEIGHT = 1e-3
_SEARCH = "line"
_FILLERS = ("<", "[", "(")
_ALTERNATIVE = re.compile(r"\(\d+\)$")
_LEAST_LIKELIHOOD = 1e-300
_SQUEEZED_FRAMES = 4
"""An "oh" of no more is squeezed in between its neighbours and was not said: 2:04 read as
"two four" gave 3 frames, the least there is, each time; one that was said 5 to 14."""


@dataclass(frozen=True, slots=True)
class HeardWord:
    text: str
    start_ms: int
    end_ms: int


@dataclass(frozen=True, slots=True)
class Hearing:
    """What was heard of a line. score: mean log likelihood per frame, 0 the best there is.

    unknown: planned words whose pronunciation nobody can tell; then nothing was heard.
    """

    words: tuple[HeardWord, ...] = ()
    score: float = -math.inf
    unknown: tuple[str, ...] = ()

    @property
    def said(self) -> tuple[str, ...]:
        return tuple(word.text for word in self.words)


@dataclass(frozen=True, slots=True)
class Judgement:
    """found: planned words that were heard. numbers_right: None where none were planned."""

    found: int
    numbers_right: bool | None
    why: str = ""

    @property
    def right(self) -> bool:
        return not self.why


class Aligner:
    """Hears lines, one at a time. Holds two decoders, about 40 MB; not for several threads."""

    def __init__(self) -> None:
        self._quick = Decoder(lm=None, loglevel="FATAL", ds=2, topn=2)

    @cached_property
    def _careful(self) -> Decoder:
        return Decoder(lm=None, loglevel="FATAL")

    def hear(self, words: tuple[str, ...], pcm: bytes) -> Hearing:
        """Return what a window says, given the words that it should say."""
        unknown = tuple(word for word in dict.fromkeys(words) if not _knows(self._quick, word))
        if unknown or not words:
            return Hearing(unknown=unknown)
        grammar = line_grammar(words)
        quick = _decoded(self._quick, grammar, pcm)
        if judge(words, quick).right:
            return quick
        for word in grammar.vocabulary:
            _knows(self._careful, word)
        careful = _decoded(self._careful, grammar, pcm)
        if judge(words, careful).right:
            return careful
        if careful.said != words:
            return careful
        # Its words won, but badly: with so many others to compare with, short lines do.
        return _decoded(self._careful, exact_grammar(words), pcm)

    def pick(self, lines: tuple[tuple[str, ...], ...], pcm: bytes) -> Hearing:
        """Return what a window says, given that it is one of these lines, however badly it fits.

        Lines with a word that nobody can pronounce are not among them.
        """
        said = [words for words in lines if words and all(_knows(self._quick, w) for w in words)]
        return _decoded(self._quick, choice_grammar(said), pcm) if said else Hearing()


def pcm_of(sound: NDArray[np.float32]) -> bytes:
    """Return sound at RATE as the aligner takes it: 16 bits, its peak at half of full scale."""
    peak = float(np.abs(sound).max(initial=0.0))
    scaled = np.rint(sound * (16_384 / peak if peak > 0 else 0.0))
    return bytes(scaled.astype("<i2").tobytes())


def judge(planned: tuple[str, ...], heard: Hearing) -> Judgement:
    """Return whether a line says what it should, and what else it says."""
    has_numbers = bool(number_runs(planned))
    if heard.said == planned and heard.score >= LEAST_SCORE:
        return Judgement(len(planned), True if has_numbers else None)
    if heard.said == planned or not heard.words:
        return Judgement(0, None, "something else is said")
    return _difference(planned, heard.said)


def _difference(planned: tuple[str, ...], said: tuple[str, ...]) -> Judgement:
    matcher = difflib.SequenceMatcher(None, planned, said, autojunk=False)
    found = sum(block.size for block in matcher.get_matching_blocks())
    tag, first, last, heard_first, heard_last = next(
        step for step in matcher.get_opcodes() if step[0] != "equal"
    )
    in_number = any(
        run.first <= first <= run.last and last <= run.last for run in number_runs(planned)
    )
    number_said = bool(number_runs(said[heard_first:heard_last]))
    if in_number and (number_said or tag == "delete"):
        wanted, got = _around(planned, first, last), _around(said, heard_first, heard_last)
        return Judgement(found, False, f'says "{got}" where "{wanted}" was planned')
    lost = " ".join(planned[first:last]).replace(lexicon.MARK, "")
    return Judgement(found, None, f'"{lost}" is not heard')


def _around(words: tuple[str, ...], first: int, last: int) -> str:
    """Return the number that words first to last - 1 belong to, with the word before it."""
    for run in number_runs(words):
        if run.first <= first <= run.last and last <= run.last:
            first, last = run.first, run.last
            break
    return " ".join(words[max(0, first - 1) : last])


def _knows(decoder: Decoder, word: str) -> bool:
    """Teach a decoder a word, if it needs it; False where nobody can tell how it is said."""
    known = decoder.lookup_word(word)
    if known is not None and lexicon.MARK not in word:
        ways = [listed] if (listed := lexicon.listed(word)) and listed != known else []
        number = 8  # An entry of our own, past the alternatives of the dictionary.
    elif known is not None:
        return True
    else:
        way = lexicon.listed(word) or _possessive(decoder, word) or lexicon.derived(word)
        ways = [way] if way else []
        number = 0
    for way in dict.fromkeys(ways):
        number += 1
        name = word if number == 1 else f"{word}({number})"
        if decoder.lookup_word(name) is None:
            decoder.add_word(name, way, True)
    return known is not None or bool(ways)


def _possessive(decoder: Decoder, word: str) -> str | None:
    """Return how the possessive of a word is said that the dictionary knows."""
    stem = decoder.lookup_word(word.removesuffix("'s")) if word.endswith("'s") else None
    return None if stem is None else lexicon.possessive(stem)


def _decoded(decoder: Decoder, grammar: Grammar, pcm: bytes) -> Hearing:
    network = decoder.create_fsg(_SEARCH, 0, grammar.final, list(grammar.arcs))
    for state in grammar.states:
        outside = state in (0, grammar.final)
        network.add_silence(_SILENCE, state, 1.0 if outside else _PAUSE_WEIGHT)
    decoder.add_fsg(_SEARCH, network)
    decoder.activate_search(_SEARCH)
    decoder.start_utt()
    decoder.process_raw(pcm, full_utt=True)
    decoder.end_utt()
    if decoder.hyp() is None:
        return Hearing()
    return _hearing(decoder)


def _hearing(decoder: Decoder) -> Hearing:
    words: list[HeardWord] = []
    total, frames = 0.0, 0
    for part in decoder.seg():
        if part.word.startswith(_FILLERS):
            continue
        length = part.end_frame - part.start_frame + 1
        total += math.log(max(part.ascore, _LEAST_LIKELIHOOD))
        frames += length
        start_ms = part.start_frame * _FRAME_MS
        text = _ALTERNATIVE.sub("", part.word)
        if text == "oh" and length <= _SQUEEZED_FRAMES:
            continue
        words.append(HeardWord(text, start_ms, start_ms + length * _FRAME_MS))
    return Hearing(tuple(words), total / frames if frames else -math.inf)
