"""Hypothesis strategies for valid plans, odd ones among them, for every test that needs sessions.

`sessions()` gives Sessions that a plan can say; `notation_lines()` texts near the
notation, most of them wrong.
"""

from __future__ import annotations

from typing import TypeVar

from hypothesis import strategies as st
from hypothesis.strategies import SearchStrategy

from cuegen.plan.model import (
    Audience,
    Bed,
    Block,
    Break,
    ChangeTo,
    Distance,
    Drop,
    Duration,
    Entry,
    FreeTarget,
    LastAtOffset,
    LastAtRate,
    Length,
    Loudness,
    OwnBed,
    QuietSpan,
    Rate,
    SayLine,
    Segment,
    SegmentKind,
    Session,
    SplitTarget,
    StepTarget,
    Target,
    ToneSpan,
    WattsTarget,
)

T = TypeVar("T")

THEMES = (
    "recovery", "ratio", "length", "posture", "catch", "connection",
    "legs", "sequence", "relax", "compression", "finish", "rhythm",
)  # fmt: skip


def words(longest: int = 40) -> SearchStrategy[str]:
    """One line of text with single spaces: quotes, colons, hashes, any script."""
    letters = st.characters(codec="utf-8", exclude_categories=("C", "Z"))
    odd = st.sampled_from(
        ["null", "~", "off", "6:00", "12", "- a", "#1", "a: b", "'q'", '"', "{x}"]
    )
    made = st.text(st.one_of(letters, st.just(" ")), min_size=1, max_size=longest)
    return st.one_of(odd, made.map(lambda text: " ".join(text.split()))).filter(
        lambda text: bool(text) and len(text) <= longest
    )


def durations(shortest_s: int = 30, longest_s: int = 1_200) -> SearchStrategy[Duration]:
    return st.integers(shortest_s, longest_s).map(lambda seconds: Duration(seconds * 1000))


def distances() -> SearchStrategy[Distance]:
    return st.integers(100, 5_000).map(Distance)


def lengths(*, by_distance: bool = True) -> SearchStrategy[Length]:
    return st.one_of(durations(), distances()) if by_distance else durations()


@st.composite
def rates(draw: st.DrawFn) -> Rate:
    low = draw(st.integers(14, 36))
    return Rate(low, low + draw(st.sampled_from([0, 0, 0, 1, 2, 4])))


def targets(*, steps: bool) -> SearchStrategy[Target]:
    """One target; `steps` says whether `@-3` may stand here."""
    known: list[SearchStrategy[Target]] = [
        st.one_of(st.integers(90, 180).map(lambda s: s * 1000), st.integers(90_000, 180_000)).map(
            SplitTarget
        ),
        st.integers(60, 500).map(WattsTarget),
        st.builds(LastAtRate, st.integers(14, 36), st.sampled_from((0, -1_000, 1_500))),
        st.builds(LastAtOffset, st.integers(-4, 4), st.sampled_from((0, -1_000, 2_000))),
        st.just(FreeTarget()),
    ]
    if steps:
        known.append(st.sampled_from([-3_000, -1_500, 0, 2_000, 125, -60_000]).map(StepTarget))
    return st.one_of(known)


def _listed(draw: st.DrawFn, repeats: int, one: SearchStrategy[T]) -> tuple[T, ...]:
    """Nothing, one for all, or one for each repeat."""
    many = draw(st.sampled_from([0, 1, repeats]))
    return tuple(draw(st.lists(one, min_size=many, max_size=many)))


@st.composite
def entries(draw: st.DrawFn, *, by_distance: bool = True, steps: bool = False) -> Entry:
    """One entry that the notation can say."""
    kind = draw(st.sampled_from(SegmentKind))
    repeats = draw(st.sampled_from([1, 1, 2, 3, 5]))
    is_rest = kind is SegmentKind.REST
    one = lengths(by_distance=by_distance and not is_rest)
    many = draw(st.sampled_from([1, repeats]))
    found = tuple(draw(st.lists(one, min_size=many, max_size=many)))
    kind_written = kind is not SegmentKind.ROW or draw(st.booleans())
    pause = draw(st.none() | _breaks(by_distance=by_distance))
    if is_rest:
        return Entry(kind, repeats, found, rest=pause, kind_written=True)
    return Entry(
        kind,
        repeats,
        found,
        rates=_listed(draw, repeats, rates()),
        targets=_listed(draw, repeats, targets(steps=steps)),
        efforts=_listed(draw, repeats, st.integers(30, 100)),
        themes=_listed(draw, repeats, st.sampled_from(THEMES)),
        rest=pause,
        kind_written=kind_written,
    )


@st.composite
def _breaks(draw: st.DrawFn, *, by_distance: bool) -> Break:
    kind = draw(st.sampled_from([SegmentKind.PADDLE, SegmentKind.REST]))
    by_distance = by_distance and kind is SegmentKind.PADDLE
    return Break(kind, draw(lengths(by_distance=by_distance)))


@st.composite
def entry_lists(draw: st.DrawFn, *, by_distance: bool = True) -> tuple[Entry, ...]:
    """One to five entries; steps stand only where an earlier segment has a target."""
    found: list[Entry] = []
    known = False
    for _ in range(draw(st.integers(1, 5))):
        entry = draw(entries(by_distance=by_distance, steps=known))
        known = known or any(not isinstance(target, FreeTarget) for target in entry.targets)
        found.append(entry)
    return tuple(found)


@st.composite
def say_lines(draw: st.DrawFn, session: Session) -> SayLine:
    """A line of the coach's own, within the session."""
    text = draw(words())
    form = draw(st.sampled_from(["at", "segment", "piece", "change", "change to piece"]))
    if form == "at":
        total = sum(_shortest_ms(segment.length) for segment in session.segments)
        return SayLine(text, at_ms=draw(st.integers(0, total - 1)))
    pieces = session.pieces
    if form == "piece" and pieces:
        number = draw(st.integers(1, len(pieces)))
        return SayLine(text, piece=number, offset_ms=draw(_offsets(pieces[number - 1])))
    number = draw(st.integers(1, len(session.segments)))
    offset_ms = draw(_offsets(session.segments[number - 1]))
    if form == "segment":
        return SayLine(text, segment=number, offset_ms=offset_ms)
    if pieces and form == "change to piece":
        change = ChangeTo(draw(st.integers(1, len(pieces))), piece=True)
        return SayLine(text, change=change, offset_ms=-draw(st.integers(0, 1_000)))
    return SayLine(text, change=ChangeTo(number), offset_ms=max(0, offset_ms))


def _offsets(segment: Segment) -> SearchStrategy[int]:
    room = _shortest_ms(segment.length)
    return st.integers(-room, room - 1)


def drops() -> SearchStrategy[tuple[Drop, ...]]:
    """Kinds of floating cues, each once; which ids there are is not the plan's to know."""
    kinds = st.sampled_from(["settle", "technique", "goal", "time-left", "offer"])
    return st.lists(kinds, max_size=2, unique=True).map(lambda names: tuple(map(Drop, names)))


def _shortest_ms(length: Length) -> int:
    return length.ms if isinstance(length, Duration) else length.metres * 100


@st.composite
def quiet_spans(draw: st.DrawFn, session: Session) -> QuietSpan:
    total = sum(_shortest_ms(segment.length) for segment in session.segments)
    start = draw(st.integers(0, total - 1))
    return QuietSpan(start, start + draw(st.integers(1, 600_000)))


@st.composite
def sessions(draw: st.DrawFn, *, by_distance: bool = True, small: bool = False) -> Session:
    """A session that a plan can say. small: entries, title and audience alone."""
    session = Session(
        title=draw(words()),
        entries=draw(entry_lists(by_distance=by_distance)),
        audience=draw(st.sampled_from(Audience)),
    )
    if small:
        return session
    rower = draw(st.none() | words())
    return Session(
        title=session.title,
        entries=session.entries,
        audience=session.audience,
        rower=rower,
        rower_say=draw(st.none() | words()) if rower else None,
        talk_share=draw(st.floats(0.05, 0.8)),
        voice=draw(st.sampled_from(["natural", "small"]) | words()),
        phrase_book=draw(st.sampled_from(["plain", "ours.yaml"])),
        language=draw(st.sampled_from(["en", "en-GB", "de"])),
        count_in=draw(st.integers(0, 10)),
        lead_in_ms=draw(st.none() | st.integers(0, 600_000)),
        caution=draw(st.booleans()),
        bed=draw(st.none() | beds()),
        alert=draw(st.booleans()),
        stroke_tones=draw(st.sampled_from(ToneSpan)),
        loudness=draw(st.none() | st.floats(-30, -10) | st.sampled_from(Loudness)),
        block=draw(st.none() | st.builds(Block, words(), st.integers(1, 520))),
        say=tuple(draw(st.lists(say_lines(session), max_size=3))),
        quiet=tuple(draw(st.lists(quiet_spans(session), max_size=3))),
        drop=draw(drops()),
    )


def beds() -> SearchStrategy[Bed]:
    """Beds of one file, of ours, or of several."""
    more = st.lists(words(), max_size=2).map(tuple)
    below = st.just(20.0) | st.floats(0, 60)
    ours = st.builds(Bed, st.sampled_from([bed.value for bed in OwnBed]), below)
    return ours | st.builds(Bed, words(), below, more)


def notation_lines() -> SearchStrategy[str]:
    """Texts made of the notation's own pieces in any order."""
    pieces = st.sampled_from(
        [
            "warm-up", "row", "rest", "paddle", "cool-down", "easy", "4 x", "2x", "0 x", "4:00",
            "0:00", "4:75", "1:10:00", "13:00:00", "4min", "5m", "750m", "2k", "r20", "r18-20",
            "r18/20", "r0", "@2:05", "@-3", "@last", "@last r18", "@last+2", "@free", "@210W", "@",
            "70%", "120%", "70/80%", "(catch)", "(a/b)", "(", ")", "/", ",", ", paddle 1:30",
            ", rest 500m", "#", "\n", "-", "+", "\N{MULTIPLICATION SIGN}", "é", "²",
            "99999999999999999999",
        ]
    )  # fmt: skip
    made = st.lists(pieces, min_size=1, max_size=12)
    return st.one_of(made.map(" ".join), made.map("".join), st.text(max_size=30))
