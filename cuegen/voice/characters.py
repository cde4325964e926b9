"""What the voices can sound like: the part of a voice's name after a plus sign.

Conventions
    `natural+hall` is the natural voice with the character "hall". A character is a
    curve that the spoken sound is sent through (cuegen.dsp.presence) or one of the
    engine's own variants. "" is what a voice is without a plus sign.

Measured on 47 lines of examples/harbour-build.yaml, levelled and limited as finished clips
are. STOI in a full hall (cuegen.dsp.hall): median, worst line; 0.023 of it is worth 1 LU of
speech over the noise. s: the loudest sibilants (5 to 9 kHz) against the loud moments of
1 to 4 kHz, in dB.

    voice      as it is               softer                 hall
    natural    0.823 0.754 s -0.7     0.828 0.760 s -6.3     0.848 0.789 s -7.3
    piper      0.813 0.755 s -6.4     (as it is)             0.824 0.767 s -7.1
    small      0.834 0.775 s -7.4     (as it is)             0.814 0.745 with natural's curve

So the natural voice hisses 6 dB more than the others; taking that away costs no words.
Beyond it, a curve for halls is worth 1.1 LU to that voice and half of one to piper. The
small voice, whose spectrum is that of a hall already, is left alone. A high-pass by
itself (-12 dB at 60 Hz, 0 at 120) moves STOI by less than 0.003 in any voice. At equal
loudness the curves raise peaks by up to 2.5 dB, which the limiter of finishing takes down.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

Curve = tuple[tuple[float, float], ...]
"""Points (Hz, dB), straight between them over log frequency, level outside."""

_NAME = re.compile(r"[a-z][a-z0-9]*")


@dataclass(frozen=True, slots=True)
class Character:
    """One way a voice can sound. variant: the engine's own name for it, "" for its usual one."""

    name: str
    summary: str
    curve: Curve = ()
    variant: str = ""


SOFTER: Curve = ((4_500.0, 0.0), (6_000.0, -6.0))
"""Sibilants 6 dB down, nothing else."""

_VARIANTS = tuple(
    Character(f"{kind}{number}", f"eSpeak NG's {what} variant {number}", variant=f"{kind}{number}")
    for kind, what, count in (("m", "male", 8), ("f", "female", 5))
    for number in range(1, count + 1)
)

CHARACTERS: dict[str, tuple[Character, ...]] = {
    "natural": (
        Character("", "its sibilants softened", SOFTER),
        Character(
            "hall",
            "less boom, more presence: as clear in a loud hall as if it were 1 LU louder",
            (
                (60.0, -12.0),
                (110.0, -2.0),
                (190.0, -3.0),
                (240.0, -3.0),
                (500.0, -1.0),
                (700.0, 0.0),
                (1_500.0, 2.0),
                (4_000.0, 2.0),
                (5_000.0, 0.0),
                (6_500.0, -6.0),
            ),
        ),
    ),
    "small": _VARIANTS,
    "piper": (
        Character(
            "hall",
            "more presence: as clear in a loud hall as if it were 0.5 LU louder",
            (
                (60.0, -12.0),
                (120.0, 0.0),
                (1_000.0, 0.0),
                (2_000.0, 3.0),
                (4_000.0, 3.0),
                (6_000.0, 0.0),
            ),
        ),
    ),
}
"""By voice; one that is not named has no character but its own."""

_AS_IT_IS = Character("", "as it is")


def split_name(name: str) -> tuple[str, str]:
    """Return a voice's name without its character, and the character, "" where none is named."""
    base, plus, character = name.strip().rpartition("+")
    # A plus sign may stand in the name of a voice file, `piper:coach+2.onnx`.
    return (base, character) if plus and _NAME.fullmatch(character) else (name.strip(), "")


def named(voice: str) -> dict[str, Character]:
    """Return the characters of a voice that have a name."""
    return {each.name: each for each in CHARACTERS.get(voice, ()) if each.name}


def find_character(voice: str, name: str) -> Character | None:
    """Return a voice's character of that name, None where it has none so named."""
    if not name:
        return next((each for each in CHARACTERS.get(voice, ()) if not each.name), _AS_IT_IS)
    return named(voice).get(name)
