"""A strict checker of WebVTT, written from the grammar and apart from the writer.

Source: W3C, WebVTT: The Web Video Text Tracks Format, sections "WebVTT file
structure", "WebVTT caption or subtitle cue text", "WebVTT chapter title text" and
"WebVTT file using chapter title text" (editor's text read). Parsers forgive; this
one does not: the first departure raises NotWebVTT with the section it offends.

Only what a checker of our files needs is accepted: comment and cue blocks, no
style or region blocks, no cue settings; a payload with tags is refused, though
captions could hold them.
"""

from __future__ import annotations

import html
import re
from dataclasses import dataclass
from itertools import pairwise

TIMESTAMP = r"(?:([0-9]{2,}):)?([0-5][0-9]):([0-5][0-9])\.([0-9]{3})"
_TIMINGS = re.compile(f"{TIMESTAMP}[ \t]+-->[ \t]+{TIMESTAMP}")
_REFERENCE = re.compile(r"&(?:#[0-9]+|#[xX][0-9a-fA-F]+|[A-Za-z][A-Za-z0-9]*);")


class NotWebVTT(Exception):  # noqa: N818 - reads as a finding
    pass


@dataclass(frozen=True)
class StrictCue:
    """A cue with its text decoded."""

    identifier: str | None
    start_ms: int
    end_ms: int
    text: str


def check_captions(data: bytes) -> list[StrictCue]:
    """Return the cues of a caption file, or raise NotWebVTT."""
    body = _body(data)
    cues = [_cue_block(block) for block in _blocks(body)]
    kept = [cue for cue in cues if cue is not None]
    for before, after in pairwise(kept):
        if after.start_ms < before.start_ms:
            raise NotWebVTT("cue timings: starts must not decrease")
    names = [cue.identifier for cue in kept if cue.identifier is not None]
    if len(set(names)) < len(names):
        raise NotWebVTT("cue identifier: must be unique in the file")
    return kept


def check_chapters(data: bytes) -> list[StrictCue]:
    """Return the cues of a chapter file: only nested or disjoint cues."""
    cues = check_captions(data)
    for index, outer in enumerate(cues):
        for inner in cues[index + 1 :]:
            if inner.start_ms < outer.end_ms < inner.end_ms:
                raise NotWebVTT("file using only nested cues: cues must be nested or disjoint")
    return cues


def _body(data: bytes) -> str:
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as bad:
        raise NotWebVTT("file: must be UTF-8") from bad
    if "\0" in text:
        raise NotWebVTT("file: a parser would change U+0000 to U+FFFD")
    return re.sub(r"\r\n|\r", "\n", text.removeprefix("\ufeff"))


def _blocks(body: str) -> list[str]:
    head, _, rest = body.partition("\n")
    if not re.fullmatch(r"WEBVTT(?:[ \t].*)?", head):
        raise NotWebVTT("file body: the first line is WEBVTT, alone or before a blank or tab")
    if not rest.startswith("\n"):
        raise NotWebVTT("file body: two line terminators after the first line")
    if not body.endswith("\n"):
        raise NotWebVTT("cue block: ends with a line terminator")
    return [block for block in re.split(r"\n{2,}", rest.strip("\n")) if block]


def _cue_block(block: str) -> StrictCue | None:
    if re.match(r"NOTE(?:[ \t\n]|$)", block) and "-->" not in block:
        return None
    if re.match(r"(?:STYLE|REGION)[ \t]*\n", block) and "-->" not in block:
        raise NotWebVTT("style and region blocks are not expected here")
    lines = block.split("\n")
    identifier = None
    if "-->" not in lines[0]:
        identifier = lines.pop(0)
    if not lines:
        raise NotWebVTT("cue block: timings are missing")
    match = _TIMINGS.fullmatch(lines[0])
    if match is None:
        raise NotWebVTT(f"cue timings: {lines[0]!r}")
    groups = match.groups()
    start_ms, end_ms = _ms(groups[:4]), _ms(groups[4:])
    if end_ms <= start_ms:
        raise NotWebVTT("cue timings: the end must be greater than the start")
    return StrictCue(identifier, start_ms, end_ms, _payload("\n".join(lines[1:])))


def _ms(parts: tuple[str | None, ...]) -> int:
    hours, minutes, seconds, thousandths = (int(part or 0) for part in parts)
    return ((hours * 60 + minutes) * 60 + seconds) * 1000 + thousandths


def _payload(text: str) -> str:
    if "-->" in text:
        raise NotWebVTT("cue block: the payload must not contain the arrow")
    if "<" in text:
        raise NotWebVTT("cue text span: no less-than sign outside a tag")
    if "&" in _REFERENCE.sub("", text):
        raise NotWebVTT("cue text span: an ampersand outside a character reference")
    if not text.strip():
        raise NotWebVTT("our own rule: a cue says something")
    return html.unescape(text)
