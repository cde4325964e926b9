"""From an occasion to its cue sheet: advised, scripted, placed, composed.

Of the voice it knows how long its clips are. No file is opened but phrase books.
"""

from __future__ import annotations

from cuegen.occasion import Occasion
from cuegen.schedule.compose import compose
from cuegen.schedule.cuesheet import CueSheet
from cuegen.schedule.offers import Prepare
from cuegen.schedule.place import place
from cuegen.schedule.rules import frame_of
from cuegen.script.candidates import build_candidates
from cuegen.script.phrasebook import find_book
from cuegen.targets.advice import advise
from cuegen.targets.outline import Outline
from cuegen.voice.clip import Preparing, Progress, Speaker


def compiled(
    what: Occasion,
    laid: Outline,
    heard: frozenset[str],
    speaker: Speaker,
    on_progress: Progress | None = None,
) -> CueSheet:
    """Return the cue sheet of an occasion, every line placed by the length of its clip.

    laid: its outline. heard: the words that floating cues may not repeat. Raises
    CuegenError for anything a person wrote that cannot be used.
    """
    advice = tuple(str(item) for item in advise(laid, what.results))
    book = find_book(what.session.phrase_book, what.session.language)
    script = build_candidates(laid, book, heard)
    frame = frame_of(laid, script.quiet)
    prepare = _preparing(speaker, on_progress)
    placement = place(script.candidates, frame, speaker.length_ms, prepare)
    return compose(laid, placement, frame, (*advice, *script.notes), unsaid=script.unsaid)


def _preparing(speaker: Speaker, on_progress: Progress | None) -> Prepare | None:
    """Return how a speaker is told of lines to come, None for one that is not to be told."""
    if not isinstance(speaker, Preparing):
        return None
    return lambda lines: speaker.prepare(lines, on_progress)
