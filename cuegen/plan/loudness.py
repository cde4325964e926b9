"""How loud a track is asked to be: a number, or the name of where it is heard.

Contents
    LOUDNESS              the one table of named targets
    read_loudness         from a plan
    asked_lufs            what a session comes to
    loudness_table        the table as Markdown

A file of one channel is played from both loudspeakers or both ears, which makes it
3 LU louder; its target is 3 LU lower, but for broadcasting, where the file itself is
measured. No target says how loud a track is at the ear: that is set on the day, by ear.
True peak is at most -1 dBTP for all of them (EBU R 128).
"""

from __future__ import annotations

from dataclasses import dataclass

from cuegen.plan.model import Loudness, Session, ToneSpan
from cuegen.plan.tree import Document, Node
from cuegen.plan.values import number, read_scalar

LOWEST_LUFS, HIGHEST_LUFS = -30, -10


@dataclass(frozen=True, slots=True)
class Target:
    """Integrated loudness in LUFS of a track of two channels and of one; where it is from."""

    stereo_lufs: float
    mono_lufs: float
    reason: str
    source: str


LOUDNESS: dict[Loudness, Target] = {
    Loudness.GYM: Target(
        -14.0,
        -17.0,
        "as loud as the music that is played before and after it, so that nobody turns it up",
        "common practice, no source",
    ),
    Loudness.HEADPHONES: Target(
        -18.0,
        -21.0,
        "speech at the ear needs no more, and its peaks are left alone",
        "AES TD1008, speech (seen second-hand)",
    ),
    Loudness.PODCAST: Target(
        -16.0,
        -19.0,
        "what players of spoken word expect; what holds without the field",
        "common practice, no source",
    ),
    Loudness.BROADCAST: Target(-23.0, -23.0, "programme loudness", "EBU R 128"),
}


def read_loudness(document: Document, node: Node) -> float | Loudness:
    """Return a number of LUFS, or a name of the table."""
    text = read_scalar(document, node).lower()
    if text in tuple(Loudness):
        return Loudness(text)
    if text[:1].isalpha():
        raise document.fault(
            node,
            "a number should stand here, or where the track is heard",
            f"Write one from {LOWEST_LUFS} to {HIGHEST_LUFS}, or {names()}.",
        )
    return _number(document, node)


def asked_lufs(session: Session) -> float | None:
    """Return the integrated loudness that a session asks for; None leaves it to the mixer.

    A track in which only lines sound, and alerts before them, has one channel.
    """
    if not isinstance(session.loudness, Loudness):
        return session.loudness
    target = LOUDNESS[session.loudness]
    voice_only = session.bed is None and session.stroke_tones is ToneSpan.NONE
    return target.mono_lufs if voice_only else target.stereo_lufs


def names() -> str:
    """Return the names as a sentence offers them."""
    *first, last = (name.value for name in Loudness)
    return f"{', '.join(first)} or {last}"


def loudness_table() -> str:
    """Return the targets as a Markdown table."""
    rows = ["| `loudness` | stereo | mono | why | source |", "|---|---|---|---|---|"]
    rows += [
        f"| `{name}` | {target.stereo_lufs:g} LUFS | {target.mono_lufs:g} LUFS "
        f"| {target.reason} | {target.source} |"
        for name, target in LOUDNESS.items()
    ]
    return "\n".join(rows) + "\n"


_number = number(LOWEST_LUFS, HIGHEST_LUFS, unit="lufs")
