"""From an outline to its cue sheet: advised, scripted, placed, composed.

Of the voice it knows how long its clips are. No file is opened here.
"""

from __future__ import annotations

from cuegen.schedule.compose import compose
from cuegen.schedule.cuesheet import CueSheet
from cuegen.schedule.offers import Prepare
from cuegen.schedule.place import place
from cuegen.schedule.rules import frame_of
from cuegen.script.book import PhraseBook
from cuegen.script.candidates import build_candidates
from cuegen.targets.advice import advise
from cuegen.targets.outline import Outline
from cuegen.targets.rowed import Results
from cuegen.telling import Progress
from cuegen.voice.clip import Preparing, Speaker


def compiled(
    laid: Outline,
    book: PhraseBook,
    speaker: Speaker,
    *,
    results: Results | None,
    heard: frozenset[str],
    on_progress: Progress | None = None,
) -> CueSheet:
    """Return the cue sheet of an outline, every line placed by the length of its clip.

    results: what was held before, for advice. heard: the words that floating cues may not
    repeat. Raises CuegenError for anything a person wrote that cannot be used.
    """
    advice = tuple(str(item) for item in advise(laid, results))
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
