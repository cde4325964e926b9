"""The hall page: what a hall looks up at while a session is rowed.

One HTML file that asks for nothing from any network: the sheet's lines and parts lie
inside it as data, one small script (templates/hall.js) shows what is due by the clock
of the track, or by the wall clock where there is none. The policy allows that script
and that style by their SHA-256 (W3C Content Security Policy Level 3) and the track
from where it is; people's words are escaped, in the page and in its data alike.

Conventions
    Instants are milliseconds of the track. The clock that is shown is the rowing
    clock of the printed sheet (cuegen.sheet.wording).
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from cuegen.clock import clock_text, split_text
from cuegen.files import write_text
from cuegen.pages.hall_sound import HallSound
from cuegen.pages.shape import reaches
from cuegen.plan.model import SEGMENT_KINDS, SegmentKind
from cuegen.schedule.cuesheet import CueSheet, SheetSegment
from cuegen.script.kinds import CueKind
from cuegen.sheet.cautions import CAUTIONS
from cuegen.sheet.page import Dark, fill_page
from cuegen.sheet.timeline_scale import Stretch, stretches
from cuegen.sheet.wording import (
    audience_words,
    end_spreads,
    length_words,
    one_line,
    rowing_clock,
)

VOLUME_CAUTION = (
    "Try the sound before anybody rows, and begin low: loud sound over a long time harms hearing."
)

_SCRIPTS = ("running.js", "hall.js")

_BANK = 97
"""How broad a whole bank is. The drawing has 100 on either side; its length is 1000."""

_THREAD = 3
"""How far a bank is off the middle where nobody rows, or no rate is asked."""

_COUNT_REACH_MS = 15_000
"""Beats further than this before the end of a part do not count it out."""


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the session as the page shows it; empty texts are left out.

    figure: the largest, its meaning in `word`; where it is empty the time left stands
    there. count_ms: how long before the end its beats begin. about: whether the end is
    reckoned from a pace. brief: what it is called while it is next. told: what a screen
    reader says when it begins.
    """

    start_ms: int
    end_ms: int
    clock: str
    name: str
    figure: str = ""
    word: str = ""
    hold: str = ""
    unit: str = ""
    effort: str = ""
    brief: str = ""
    told: str = ""
    count_ms: int = 0
    about: bool = False


def hall_page(sheet: CueSheet, sound: HallSound | None = None, printed: str | None = None) -> str:
    """Return the page. sound: what it plays; without it the page keeps time by itself.

    printed: the address of the printed sheet, where there is one.
    """
    shown = parts(sheet)
    pieces = sum(SEGMENT_KINDS[segment.kind].is_work for segment in sheet.segments)
    return fill_page(
        "hall.html.jinja",
        "screen.css",
        "hall.css",
        dark=Dark.CHOSEN,
        scripts=_SCRIPTS,
        **head_facts(sheet),
        pieces=pieces,
        parts=shown,
        river=river_outline(sheet),
        labels=tuple(reach.rate for reach in reaches(sheet)),
        described=_described(sheet),
        cautions=_cautions(sound),
        sound=sound,
        printed=printed,
        session=_session(sheet, shown),
    )


def head_facts(sheet: CueSheet) -> dict[str, Any]:
    """Return what the head of every page of a session on a screen says."""
    return {
        "language": "en",
        "spoken_language": one_line(sheet.sound.language),
        "title": one_line(sheet.title),
        "rowing": clock_text(sheet.row_end_ms - sheet.lead_in_ms),
        "lead_in": clock_text(sheet.lead_in_ms) if sheet.lead_in_ms else "",
        "audience": audience_words(sheet),
    }


def save_hall_page(
    sheet: CueSheet, path: Path | str, sound: HallSound | None = None, printed: str | None = None
) -> None:
    """Write the page, whole or not at all. Raises OutputError."""
    write_text(Path(path), hall_page(sheet, sound, printed))


def parts(sheet: CueSheet) -> tuple[Part, ...]:
    """Return the opening, each segment and what follows the finish, as the page shows them."""
    return tuple(_part(sheet, stretch) for stretch in stretches(sheet))


def river_outline(sheet: CueSheet) -> str:
    """Return the session's shape as the path of an SVG, time down, rate right, effort left."""
    right: list[str] = []
    left: list[str] = []
    for reach in reaches(sheet):
        for ms in (reach.start_ms, reach.end_ms):
            down = f"{1000 * ms / sheet.duration_ms:.2f}"
            right.append(f"{max(_THREAD, _BANK * reach.rate_share):.1f} {down}")
            left.append(f"{max(_THREAD, _BANK * reach.effort_share):.1f} {down}")
    before, after = (1000 * ms / sheet.duration_ms for ms in (sheet.lead_in_ms, sheet.row_end_ms))
    downs = ("0", f"{before:.2f}"), (f"{after:.2f}", "1000")
    spring, mouth = ([f"{_THREAD} {down}" for down in pair] for pair in downs)
    bank = [*spring, *right, *mouth]
    other = [f"-{point}" for point in (*spring, *left, *mouth)]
    return "M" + " L".join([*bank, *reversed(other)]) + " Z"


def _session(sheet: CueSheet, shown: tuple[Part, ...]) -> dict[str, object]:
    """Return what the script reads."""
    return {
        "durationMs": sheet.duration_ms,
        "leadInMs": sheet.lead_in_ms,
        "rowEndMs": sheet.row_end_ms,
        "parts": [{_camel(name): fact for name, fact in asdict(part).items()} for part in shown],
        "lines": [[cue.start_ms, cue.end_ms, one_line(cue.text)] for cue in sheet.cues],
    }


def _camel(name: str) -> str:
    """Return a name as scripts write it: "start_ms" becomes "startMs"."""
    first, *others = name.split("_")
    return first + "".join(map(str.capitalize, others))


def _part(sheet: CueSheet, stretch: Stretch) -> Part:
    index = len(sheet.segments) if stretch.index is None else stretch.index
    about = "~" if stretch.start_ms and index and end_spreads(sheet)[index - 1] else ""
    clock = about + rowing_clock(sheet, stretch.start_ms)
    if stretch.index is not None:
        return _rowed(sheet, stretch, clock, sheet.segments[stretch.index])
    if stretch.start_ms == 0:
        return Part(
            start_ms=stretch.start_ms,
            end_ms=stretch.end_ms,
            clock=clock,
            name=stretch.name,
            word="first stroke in",
            brief=stretch.name,
            told=f"{stretch.name}. First stroke in {clock_text(stretch.length_ms)}.",
            count_ms=_count_ms(sheet, stretch),
        )
    total = clock_text(sheet.row_end_ms - sheet.lead_in_ms)
    return Part(
        start_ms=stretch.start_ms,
        end_ms=stretch.end_ms,
        clock=clock,
        name=stretch.name,
        figure=total,
        word="rowed",
        brief=stretch.name,
        told=f"{stretch.name}. {total} rowed.",
    )


def _rowed(sheet: CueSheet, stretch: Stretch, clock: str, segment: SheetSegment) -> Part:
    effort = f"{segment.effort_pct} %" if segment.effort_pct else ""
    rate = one_line(segment.rate or "").replace("-", "\u2013")
    split = "" if segment.split_ms is None else split_text(segment.split_ms)
    is_rest = segment.kind is SegmentKind.REST
    name = stretch.name if segment.distance_m is None else f"{stretch.name}, {segment.distance_m} m"
    asked = [f"rate {rate}" if rate else "", split or (effort and f"{effort} effort")]
    figure, word = (rate, "rate") if rate else (effort, "effort")
    return Part(
        start_ms=stretch.start_ms,
        end_ms=stretch.end_ms,
        clock=clock,
        name=name,
        figure="" if is_rest else figure,
        word="rest for" if is_rest else word,
        hold=split or (effort if rate else ""),
        unit="per 500 m" if split else "effort" if rate and effort else "",
        effort=f"{effort} effort" if split and effort and rate else "",
        brief=", ".join(filter(None, [name, *asked])),
        told=_told(name, rate, split, effort, length_words(segment)),
        count_ms=_count_ms(sheet, stretch),
        about=segment.distance_m is not None,
    )


def _told(name: str, rate: str, split: str, effort: str, length: str) -> str:
    asked = (
        f"rate {rate}" if rate else "",
        f"{split} per 500 metres" if split else "",
        f"{effort} effort" if effort else "",
    )
    return ", ".join(filter(None, [name, *asked, f"for {length}"])) + "."


def _count_ms(sheet: CueSheet, stretch: Stretch) -> int:
    """Return how long before the end of a part its count begins, 0 where it has none."""
    beats = [
        stretch.end_ms - cue.at_ms
        for cue in sheet.cues
        if cue.kind is CueKind.BEAT
        and max(stretch.start_ms, stretch.end_ms - _COUNT_REACH_MS) <= cue.at_ms < stretch.end_ms
    ]
    return max(beats, default=0)


def _described(sheet: CueSheet) -> str:
    """Return the shape of the session in words."""
    said = (part.brief for part in parts(sheet) if part.name and part.clock)
    return "; ".join(said) + "."


def _cautions(sound: HallSound | None) -> tuple[str, ...]:
    said = tuple(caution.replace("this sheet", "this page") for caution in CAUTIONS)
    return (*said, VOLUME_CAUTION) if sound else said
