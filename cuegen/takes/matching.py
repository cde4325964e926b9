"""Which stretch of one long recording is which line: the best choice in order, then strays.

Conventions
    A recording was cut at its pauses into pieces, numbered from 0. A `Guess` says that
    some pieces in a row are one line, and how sure that is; lines are numbered from 0 in
    the order in which they were to be read. Weights are our own scale: more is surer.

Rule
    Guesses are chosen so that their weights add up to most, in order: no piece twice, no
    line before one that stands earlier in the list. Pieces may be left out (a cough, a slip)
    and lines too (not read). A line that was said again right away counts once, and the
    later one is taken. After that, guesses that are sure and whose pieces are free are
    taken wherever they stand: a line that was forgotten and read at the end.

    What is left is not guessed: pieces that nobody is sure of are named.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

AGAIN = 0.3
"""What saying a line again adds, as part of its weight: enough to be no other line instead."""

LENGTH_SPREAD = 0.35
"""Spread (in natural logarithms) of how long a person takes for a line against a voice."""

LONGER, SHORTER = 2.2, 0.45
"""A take this much longer or shorter than the voice's is not that line (our own bounds)."""

MOST_JOINED = 5
LONGEST_BREATH_MS = 1_500
"""A pause within a line is no longer than this."""

SURE_FIT, WORST_FIT = -2.8, -3.6
"""Fits (cuegen.takes.said) from which on a guess is sure, and up to which it is worth nothing."""


@dataclass(frozen=True, slots=True)
class Guess:
    """Pieces first to last (included) are this line. sure: its words were heard plainly."""

    first: int
    last: int
    line: int
    weight: float
    sure: bool


@dataclass(frozen=True, slots=True)
class Choice:
    """taken: one guess a line, by line. superseded: the same line, said again later.

    unsure: guesses that stood in their place but are not sure. left: pieces that are
    no part of any of these.
    """

    taken: tuple[Guess, ...]
    superseded: tuple[Guess, ...]
    unsure: tuple[Guess, ...]
    left: tuple[int, ...]


def plausible(length_ms: int, about_ms: int) -> bool:
    """Return whether a stretch may be a line for which the voice takes about so long."""
    return SHORTER * about_ms <= length_ms <= LONGER * about_ms


def weight_of(fit: float, words: int, length_ms: int, about_ms: int) -> float:
    """Return how much a guess weighs: fit of its words, their number, how long it lasts."""
    if not plausible(length_ms, about_ms):
        return 0.0
    heard = min(1.0, (fit - WORST_FIT) / (SURE_FIT - WORST_FIT))
    off = math.log(length_ms / about_ms) / LENGTH_SPREAD
    return max(0.0, heard) * math.sqrt(words) * math.exp(-off * off / 2)


def chosen(guesses: Sequence[Guess], pieces: int) -> Choice:
    """Return the best choice among guesses, by the rule above."""
    chain = best_chain([guess for guess in guesses if guess.weight > 0])
    later: dict[int, Guess] = {}
    superseded: list[Guess] = []
    for guess in [*chain, *_strays(guesses, chain)]:
        held = later.get(guess.line)
        if held is None:
            later[guess.line] = guess
            continue
        first, second = sorted((held, guess), key=lambda one: one.first)
        # A sure one is not given up for a later one that is not.
        keep, drop = (first, second) if first.sure and not second.sure else (second, first)
        later[guess.line] = keep
        superseded.append(drop)
    taken = sorted((g for g in later.values() if g.sure), key=lambda one: one.line)
    unsure = sorted((g for g in later.values() if not g.sure), key=lambda one: one.first)
    used = {n for g in (*taken, *superseded, *unsure) for n in range(g.first, g.last + 1)}
    left = tuple(number for number in range(pieces) if number not in used)
    return Choice(tuple(taken), tuple(superseded), tuple(unsure), left)


def best_chain(guesses: Sequence[Guess]) -> list[Guess]:
    """Return the guesses in order that weigh most together, by dynamic programming.

    One guess may follow another where its pieces come after and its line comes after; or
    where it is the same line said again, which adds AGAIN of the heavier of the two.
    """
    ordered = sorted(guesses, key=lambda one: (one.last, one.first, one.line, one.weight))
    totals: list[float] = []
    befores: list[int] = []
    for guess in ordered:
        best, before = guess.weight, -1
        for index, other in enumerate(ordered[: len(totals)]):
            if other.last >= guess.first or other.line > guess.line:
                continue
            total = totals[index] + _adds(other, guess)
            if total > best:
                best, before = total, index
        totals.append(best)
        befores.append(before)
    chain: list[Guess] = []
    at = max(range(len(ordered)), key=totals.__getitem__, default=-1)
    while at >= 0:
        chain.append(ordered[at])
        at = befores[at]
    return chain[::-1]


def _adds(other: Guess, guess: Guess) -> float:
    if other.line != guess.line:
        return guess.weight
    return AGAIN * guess.weight


def _strays(guesses: Sequence[Guess], chain: Sequence[Guess]) -> list[Guess]:
    """Return sure guesses whose pieces the chain leaves free, heaviest first, none twice."""
    used = {number for guess in chain for number in range(guess.first, guess.last + 1)}
    found = []
    for guess in sorted(guesses, key=lambda one: -one.weight):
        pieces = set(range(guess.first, guess.last + 1))
        if guess.sure and guess.weight > 0 and not pieces & used:
            used |= pieces
            found.append(guess)
    return found


Hear = Callable[[Sequence[tuple[int, int]]], list[Guess]]
"""Hears stretches of pieces (first, last), and returns a guess for each that fits a line."""


def guesses_for(
    pieces: Sequence[int], gaps: Sequence[int], hear: Hear, longest_ms: int
) -> list[Guess]:
    """Return what the pieces of a recording may be, alone and joined.

    pieces: their lengths; gaps: the pauses after each, in ms. longest_ms: no line is longer.
    A piece that is surely a line by itself is not joined to others.
    """
    alone = hear([(number, number) for number in range(len(pieces))])
    sure = {guess.first for guess in alone if guess.sure}
    joined = []
    for first in range(len(pieces)):
        length = pieces[first]
        for last in range(first + 1, min(first + MOST_JOINED, len(pieces))):
            length += gaps[last - 1] + pieces[last]
            if gaps[last - 1] > LONGEST_BREATH_MS or length > longest_ms:
                break
            if not sure.issuperset(range(first, last + 1)):
                joined.append((first, last))
    return [*alone, *hear(joined)]
