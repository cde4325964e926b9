"""One long recording of many lines: cut at its pauses, each stretch matched to its line.

Conventions
    Here the recording is gone through at the aligner's rate, to find where it speaks and
    what it says; what is found is written out by cuegen.takes.cutout. A take keeps some of
    the pause on both sides, so that noise and hum can be measured in it.
    Memory grows with the recording, by 4 MB a minute for each channel.

"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import Future
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path

import numpy as np

from cuegen.clock import samples_at
from cuegen.dsp.decode import open_audio
from cuegen.dsp.signal import Signal
from cuegen.errors import AudioError, TakeError, Where
from cuegen.hearing.ears import EarsLostError
from cuegen.hearing.lexicon import tokens
from cuegen.hearing.words import LEAD_IN_MS, LEAST_SCORE, RATE, TAIL_MS, Hearing, judge, pcm_of
from cuegen.takes.cuts import Piece, loudness_curve, pieces_of, speaking
from cuegen.takes.examine import ANSWER_S, Examiner
from cuegen.takes.lines import TakeLine
from cuegen.takes.matching import (
    LONGER,
    Choice,
    Guess,
    chosen,
    guesses_for,
    plausible,
    weight_of,
)
from cuegen.takes.repair import for_the_aligner
from cuegen.telling import Progress
from cuegen.voice.clip import Samples
from cuegen.voice.recorded import side_with_voice

MARGIN_MS = 500
"""How much of the pause a take keeps on both sides, at most."""

LONGEST_MIN = 45
_ASKED = 8

Stretch = tuple[int, int]


@dataclass(frozen=True, slots=True)
class CutTake:
    """A stretch of the recording that is a line, or may be. text: of that line."""

    name: str
    text: str
    start_ms: int
    end_ms: int


@dataclass(frozen=True, slots=True)
class Cutting:
    """What a recording holds. keep: where each stretch is cut, pauses included, by start_ms.

    superseded: lines that were said again later. left: speech that is none of the lines.
    """

    taken: tuple[CutTake, ...]
    superseded: tuple[CutTake, ...]
    unsure: tuple[CutTake, ...]
    missing: tuple[TakeLine, ...]
    left: tuple[Piece, ...]
    pieces: tuple[Piece, ...]


def read_long(path: Path) -> Samples:
    """Return a whole recording as one channel at RATE. Raises AudioError."""
    parts: list[Signal] = []
    length = 0
    for block in replace(open_audio(path), sample_rate=RATE).blocks():
        parts.append(block)
        length += len(block)
        if length > LONGEST_MIN * 60 * RATE:
            raise AudioError(
                f"lasts more than {LONGEST_MIN} minutes",
                where=Where(file=str(path)),
                remedy="Cut it into shorter recordings, and cut each into takes.",
            )
    sound = np.concatenate(parts)
    side = side_with_voice(sound)
    return sound.mean(axis=1, dtype=np.float32) if side is None else sound[:, side]


def cutting_of(
    sound: Samples,
    lines: Sequence[TakeLine],
    examiner: Examiner,
    on_progress: Progress | None = None,
) -> Cutting:
    """Return what a recording at RATE says of these lines, which were to be read in order."""
    pieces = pieces_of(speaking(loudness_curve(sound, RATE)))
    read = _Reading(sound, pieces, tuple(lines), examiner, on_progress)
    gaps = [after.start_ms - before.end_ms for before, after in pairwise(pieces)]
    longest = int(LONGER * max((line.about_ms for line in lines), default=0))
    guesses = guesses_for([piece.length_ms for piece in pieces], gaps, read.heard, longest)
    return read.cutting(read.confirmed(chosen(guesses, len(pieces))))


class _Reading:
    """A recording while it is being matched."""

    def __init__(
        self,
        sound: Samples,
        pieces: tuple[Piece, ...],
        lines: tuple[TakeLine, ...],
        examiner: Examiner,
        on_progress: Progress | None,
    ) -> None:
        self._sound = sound
        self._pieces = pieces
        self._lines = lines
        self._words = [tokens(line.text) or () for line in lines]
        self._examiner = examiner
        self._on_progress = on_progress

    def heard(self, stretches: Sequence[Stretch]) -> list[Guess]:
        """Return what each stretch may be: the line that fits it best, of all that may be so long.

        Where that one is not sure, the next best is a guess too: its place may speak for it.
        """
        first = list(self._picked([(stretch, frozenset()) for stretch in stretches]))
        unsure = [(g.first, g.last, g.line) for g in first if not g.sure]
        again = [((a, b), frozenset([line])) for a, b, line in unsure]
        return [*first, *(replace(g, sure=False) for g in self._picked(again))]

    def _picked(self, asked: Sequence[tuple[Stretch, frozenset[int]]]) -> Iterator[Guess]:
        """Yield what is heard of stretches. With each, the lines that it is not asked for."""
        waiting: list[tuple[Stretch, Future[Hearing]]] = []
        for count, (stretch, without) in enumerate(asked):
            may_be = self._may_be(stretch, without)
            if may_be:
                words = tuple(self._words[number] for number in may_be)
                waiting.append((stretch, self._examiner.ears().pick(words, self._pcm(*stretch))))
            if len(waiting) > _ASKED:
                yield from self._guess(*waiting.pop(0))
            if self._on_progress:
                self._on_progress(count, len(asked))
        for one in waiting:
            yield from self._guess(*one)

    def _may_be(self, stretch: Stretch, without: frozenset[int]) -> list[int]:
        length = self._length_ms(stretch)
        return [
            number
            for number, line in enumerate(self._lines)
            if number not in without and self._words[number] and plausible(length, line.about_ms)
        ]

    def _guess(self, stretch: Stretch, asked: Future[Hearing]) -> Iterator[Guess]:
        heard = _answer(asked)
        if not heard.words or heard.said not in self._words:
            return
        line = self._words.index(heard.said)
        about_ms = self._lines[line].about_ms
        weight = weight_of(heard.score, len(heard.words), self._length_ms(stretch), about_ms)
        yield Guess(*stretch, line, weight, heard.score >= LEAST_SCORE)

    def confirmed(self, choice: Choice) -> Choice:
        """Return a choice in which each line taken was heard word by word; others are unsure."""
        asked = [
            (guess, self._examiner.ears().hear(self._words[guess.line], self._pcm(*_span(guess))))
            for guess in choice.taken
        ]
        doubtful = {
            guess
            for guess, heard in asked
            if not judge(self._words[guess.line], _answer(heard)).right
        }
        taken = tuple(guess for guess in choice.taken if guess not in doubtful)
        return replace(choice, taken=taken, unsure=(*choice.unsure, *sorted(doubtful, key=_span)))

    def cutting(self, choice: Choice) -> Cutting:
        known = {guess.line for guess in choice.taken}
        return Cutting(
            taken=tuple(self._take(guess) for guess in choice.taken),
            superseded=tuple(self._take(guess) for guess in choice.superseded),
            unsure=tuple(self._take(guess) for guess in choice.unsure),
            missing=tuple(line for n, line in enumerate(self._lines) if n not in known),
            left=tuple(self._pieces[number] for number in choice.left),
            pieces=self._pieces,
        )

    def _take(self, guess: Guess) -> CutTake:
        line = self._lines[guess.line]
        start, end = self._pieces[guess.first].start_ms, self._pieces[guess.last].end_ms
        return CutTake(line.name, line.text, start, end)

    def _length_ms(self, stretch: Stretch) -> int:
        return self._pieces[stretch[1]].end_ms - self._pieces[stretch[0]].start_ms

    def _pcm(self, first: int, last: int) -> bytes:
        """Return a stretch as the aligner takes it, without the speech beside it."""
        start_ms, end_ms = kept_span(self._pieces, self._pieces[first], self._pieces[last])
        sound = for_the_aligner(
            self._sound[samples_at(start_ms, RATE) : samples_at(end_ms, RATE)], RATE
        )
        lead = self._pieces[first].start_ms - start_ms - LEAD_IN_MS
        tail = end_ms - self._pieces[last].end_ms - TAIL_MS
        before = np.zeros(samples_at(max(0, -lead), RATE), dtype=np.float32)
        after = np.zeros(samples_at(max(0, -tail), RATE), dtype=np.float32)
        stop = len(sound) - samples_at(max(0, tail), RATE)
        inner = sound[samples_at(max(0, lead), RATE) : stop]
        return pcm_of(np.concatenate([before, inner, after]))


def kept_span(pieces: Sequence[Piece], first: Piece, last: Piece) -> Stretch:
    """Return what is cut for some pieces: MARGIN_MS of pause around, but half of it at most."""
    before = max((p.end_ms for p in pieces if p.end_ms <= first.start_ms), default=None)
    after = min((p.start_ms for p in pieces if p.start_ms >= last.end_ms), default=None)
    lead = MARGIN_MS if before is None else min(MARGIN_MS, (first.start_ms - before) // 2)
    tail = MARGIN_MS if after is None else min(MARGIN_MS, (after - last.end_ms) // 2)
    return max(0, first.start_ms - lead), last.end_ms + tail


def _answer(asked: Future[Hearing]) -> Hearing:
    """Return what was heard; nothing where the aligner stopped at it."""
    try:
        return asked.result(ANSWER_S)
    except (EarsLostError, TimeoutError):
        return Hearing()


def _span(guess: Guess) -> Stretch:
    return guess.first, guess.last


def need_english(language: str, path: Path) -> None:
    """Raise TakeError where nobody can follow the words of a language."""
    if language.partition("-")[0] != "en":
        raise TakeError(
            f"a long recording can be cut into English lines only, not {language!r}",
            where=Where(file=str(path)),
            remedy="Record one file a line, named by its number in the list.",
        )
