"""Words: forced alignment, and recognition in which every number is left open.

Conventions
    A stretch is mono 16-bit sound at 16 kHz that holds one line with at least
    LEAD_IN_MS before it: with less the aligner misplaces the first word (measured).
    A line is recognised against a network of its words in which each number may be
    any of its shape. Another number comes back as heard; a path that was lost on the
    way is looked for again, with care, among the planned words alone.

The aligner is pocketsphinx with the American English model of its wheel.
"""

from __future__ import annotations

import re

import numpy as np
from pocketsphinx import Decoder

from cuegen.verify.lexicon import derived, listed, tokens
from cuegen.verify.numbers import Grammar, number_grammar, number_runs
from cuegen.verify.seek import Mono

LEAD_IN_MS = 250
_FULL_SCALE = 32_767
_PEAK = 0.5
_VARIANT = re.compile(r"\(\d+\)")
_NET = "line"


class Ear:
    """An aligner, quick first and careful where that fails; serves any number of lines."""

    def __init__(self) -> None:
        # ds=2 scores every second frame: half the time. What it loses is heard again whole.
        self._quick = Decoder(lm=None, ds=2, loglevel="FATAL")
        self._careful = Decoder(lm=None, loglevel="FATAL")
        self._known: set[str] = set()

    def words_of(self, text: str) -> tuple[str, ...] | None:
        """Return the tokens of a line, None where it cannot be told how a voice reads it."""
        found = tokens(text)
        if found is None or not all(self._knows(word) for word in found):
            return None
        return found

    def heard(self, stretch: Mono, words: tuple[str, ...]) -> tuple[str, ...] | None:
        """Return the words heard, None where the line does not align at all."""
        sound = _pcm(stretch)
        said = self._said(number_grammar(words), sound)
        if said == words or (said is not None and _numbers(said) != _numbers(words)):
            return said
        self._careful.set_align_text(" ".join(words))
        return _listened(self._careful, sound)

    def _said(self, net: Grammar, sound: bytes) -> tuple[str, ...] | None:
        arcs = list(net.arcs)
        self._quick.add_fsg(_NET, self._quick.create_fsg(_NET, 0, net.final, arcs))
        self._quick.activate_search(_NET)
        return _listened(self._quick, sound)

    def _knows(self, word: str) -> bool:
        """Return whether a word can be aligned; its pronunciation is added where need be."""
        if word in self._known:
            return True
        if self._quick.lookup_word(word) is None:
            phones = listed(word) or derived(word)
            if phones is None:
                return False
            for decoder in (self._quick, self._careful):
                decoder.add_word(word, phones, True)
        self._known.add(word)
        return True


def _listened(decoder: Decoder, sound: bytes) -> tuple[str, ...] | None:
    decoder.start_utt()
    decoder.process_raw(sound, full_utt=True)
    decoder.end_utt()
    if decoder.hyp() is None:
        return None
    said = (_VARIANT.sub("", part.word) for part in decoder.seg())
    return tuple(word for word in said if word[0] not in "<[(")


def _numbers(words: tuple[str, ...]) -> list[tuple[str, ...]]:
    return [words[run.first : run.last] for run in number_runs(words)]


def _pcm(stretch: Mono) -> bytes:
    peak = float(np.abs(stretch).max(initial=0.0))
    scaled = stretch * (_PEAK * _FULL_SCALE / peak if peak > 0 else 0.0)
    return np.rint(scaled).astype("<i2").tobytes()
