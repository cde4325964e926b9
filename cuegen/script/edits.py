"""The coach's edits of a script: cues left out (`drop`), held or given other words (`pin`).

Conventions
    A cue is named by its id, or by its kind: `drop` takes every cue of a kind,
    `pin` a kind of which the session has one cue. Firm cues follow from the
    session: they are neither dropped nor moved, but may be given words. A cue held
    at an instant becomes firm there, so that it stands or the plan is refused with
    the pin's line. A pin of one cue goes before a drop of its kind.

Our words move only as far as they stay true: a cue that tells the time keeps to
its windows, any other to the stretch (opening, segment, closing) that it is about.
The coach's own words go wherever the coach says.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from cuegen.errors import PlanError
from cuegen.plan.model import Drop, Pin
from cuegen.plan.nearest import nearest, offer
from cuegen.plan.values import instant_text
from cuegen.script.candidate import Candidate, Wording
from cuegen.script.kinds import CUE_KINDS, CueKind
from cuegen.script.own import spoken_text
from cuegen.script.spoken import spoken_forms
from cuegen.targets.outline import Outline

OWN_WORDS_WORTH = 100
"""Added to the value of a floating cue with the coach's words: they were written to be heard.
With it a cue still ranks behind the safety line (our own judgement)."""

TRUE_IN_WINDOW = frozenset(
    {
        CueKind.GET_READY,
        CueKind.TIME_LEFT,
        CueKind.DISTANCE_LEFT,
        CueKind.SEGMENT_HALFWAY,
        CueKind.EXPECTED_END,
        CueKind.ENCOURAGE,
        CueKind.QUIET,
    }
)
"""Kinds that tell where in a segment one is: their wordings hold in their windows alone."""

_LEAVE_OUT = {
    CueKind.BEAT: "`count_in` says how many beats are counted, 0 for none.",
    CueKind.OWN: "Take the line out of `say`.",
}
_FOLLOWS = "Firm cues follow from the session's lengths; `pin` may give it other words."


def pinned_instants(outline: Outline) -> list[int]:
    """Return the instants of the track at which cues are held."""
    pins = outline.session.pin
    return [outline.lead_in_ms + pin.at_ms for pin in pins if pin.at_ms is not None]


def apply_edits(candidates: tuple[Candidate, ...], outline: Outline) -> tuple[Candidate, ...]:
    """Return the candidates with the plan's `drop` and `pin`, in order of their instants.

    Raises PlanError, with the line of the plan, for a cue that is not there, a firm
    cue that is dropped or moved, an instant at which a cue's words would not be true,
    and words that cannot be spoken.
    """
    session = outline.session
    if not session.drop and not session.pin:
        return candidates
    named = _Named(candidates)
    gone: dict[str, Drop] = {}
    for drop in session.drop:
        gone.update((candidate.id, drop) for candidate in named.to_drop(drop))
    pinned: dict[str, Candidate] = {}
    for pin in session.pin:
        candidate = named.to_pin(pin)
        _check_once(candidate, pin, gone, pinned)
        gone.pop(candidate.id, None)
        pinned[candidate.id] = _pinned(candidate, pin, outline)
    kept = (pinned.get(each.id, each) for each in candidates if each.id not in gone)
    return tuple(sorted(kept, key=lambda each: (each.prefer_ms, each.id)))


@dataclass(frozen=True, slots=True)
class _Named:
    """The candidates as a plan names them."""

    candidates: tuple[Candidate, ...]

    def to_drop(self, drop: Drop) -> tuple[Candidate, ...]:
        found = self._called(drop)
        kind = found[0].kind if found else CueKind(drop.cue)
        firm = found[0].firm if found else CUE_KINDS[kind].firm
        if firm:
            raise PlanError(
                f"{drop.cue!r} is firm and cannot be left out",
                where=drop.where,
                remedy=_LEAVE_OUT.get(kind, _FOLLOWS),
            )
        return found

    def to_pin(self, pin: Pin) -> Candidate:
        found = self._called(pin)
        if len(found) == 1:
            return found[0]
        names = ", ".join(candidate.id for candidate in found[:6])
        more = ", ..." if len(found) > 6 else ""
        raise PlanError(
            f"this session has {len(found) or 'no'} cues of the kind {pin.cue!r}",
            where=pin.where,
            remedy=f"Name one of them: {names}{more}." if found else "Take the pin out.",
        )

    def _called(self, edit: Drop | Pin) -> tuple[Candidate, ...]:
        """Return the cue of that id, else those of that kind, which may be none."""
        by_id = tuple(each for each in self.candidates if each.id == edit.cue)
        if by_id or edit.cue in list(CueKind):
            return by_id or tuple(each for each in self.candidates if each.kind == edit.cue)
        ids = [each.id for each in self.candidates]
        kinds = [kind.value for kind, spec in CUE_KINDS.items() if not spec.firm]
        near = nearest(edit.cue, [*ids, *kinds])
        raise PlanError(
            f"this session has no cue {edit.cue!r}",
            where=edit.where,
            remedy=offer(edit.cue, [*ids, *kinds] if near else kinds)
            + ("" if near else " Ids stand in the first column of the CSV sheet."),
        )


def _check_once(
    candidate: Candidate, pin: Pin, gone: dict[str, Drop], pinned: dict[str, Candidate]
) -> None:
    drop = gone.get(candidate.id)
    if drop is not None and drop.cue == candidate.id:
        raise PlanError(
            f"{candidate.id!r} is dropped and pinned",
            where=pin.where,
            remedy="Take it out of `drop` or out of `pin`.",
        )
    if candidate.id in pinned:
        raise PlanError(
            f"{candidate.id!r} is pinned twice, by its id and by its kind",
            where=pin.where,
            remedy="Put instant and words into one pin.",
        )


def _pinned(candidate: Candidate, pin: Pin, outline: Outline) -> Candidate:
    text = pin.text
    if text is not None:
        forms = spoken_forms(outline.session.language, outline.session.where)
        text = spoken_text(text, forms, pin.where, "pin")
    if pin.at_ms is None or candidate.firm:
        _check_unmoved(candidate, pin, outline)
        return candidate if text is None else _reworded(candidate, text, pin)
    return _held(candidate, text, pin, outline.lead_in_ms + pin.at_ms, outline)


def _check_unmoved(candidate: Candidate, pin: Pin, outline: Outline) -> None:
    stands = candidate.prefer_ms - outline.lead_in_ms
    if pin.at_ms is None or pin.at_ms == stands:
        return
    remedy = f"It stands at {_clock(stands)}: leave `at` out to give it other words"
    if candidate.kind is CueKind.OWN:
        remedy = "Give it another instant in `say`"
    raise PlanError(
        f"{candidate.id!r} is firm and cannot be moved", where=pin.where, remedy=f"{remedy}."
    )


def _reworded(candidate: Candidate, text: str, pin: Pin) -> Candidate:
    """Return a cue in the coach's words, to be said when ours would have been."""
    ours = candidate.wordings
    if candidate.kind in TRUE_IN_WINDOW:
        ours = ours[:1]  # the others word another instant
    first, last = min(w.earliest_ms for w in ours), max(w.latest_ms for w in ours)
    worth = 0 if candidate.firm else OWN_WORDS_WORTH
    return replace(
        candidate,
        wordings=(Wording(text, first, last),),
        value=candidate.value + worth,
        where=pin.where,
    )


def _held(
    candidate: Candidate, text: str | None, pin: Pin, at_ms: int, outline: Outline
) -> Candidate:
    """Return a floating cue that must stand at an instant, in its own words or the coach's."""
    if not 0 < at_ms < outline.duration_ms:
        raise PlanError(
            "this instant lies outside the track",
            where=pin.where,
            remedy=f"The track runs from {_clock(-outline.lead_in_ms)} to "
            f"{_clock(outline.duration_ms - outline.lead_in_ms)} on the rowing clock.",
        )
    texts = (text,) if text is not None else _true_at(candidate, pin, at_ms, outline)
    return replace(
        candidate,
        wordings=tuple(Wording(each, at_ms, at_ms) for each in texts),
        firm=True,
        prefer_ms=at_ms,
        segment=min(max(_stretch(at_ms, outline), 0), len(outline.segments) - 1),
        where=pin.where,
    )


def _true_at(candidate: Candidate, pin: Pin, at_ms: int, outline: Outline) -> tuple[str, ...]:
    """Return those of our wordings that are true at an instant; the fullest stays first."""
    ours = candidate.wordings
    first, last = min(w.earliest_ms for w in ours), max(w.latest_ms for w in ours)
    if candidate.kind not in TRUE_IN_WINDOW:
        span = range(_stretch(first, outline), _stretch(last, outline) + 1)
        ours = ours if _stretch(at_ms, outline) in span else ()
        first = _start(span[0], outline)
        last = _start(span[-1] + 1, outline)
    else:
        ours = tuple(w for w in ours if w.earliest_ms <= at_ms <= w.latest_ms)
    if ours:
        return tuple(dict.fromkeys(w.text for w in ours))
    lead = outline.lead_in_ms
    raise PlanError(
        f"what {candidate.id!r} says would not be true then",
        where=pin.where,
        remedy=f"It holds from {_clock(first - lead)} to {_clock(last - lead)}; for another "
        "instant give words of your own, `text`.",
    )


def _stretch(at_ms: int, outline: Outline) -> int:
    """Return -1 in the opening, the index of a segment, or their number after the last."""
    if at_ms < outline.lead_in_ms:
        return -1
    ahead = (planned.index for planned in outline.segments if at_ms < planned.end_ms)
    return next(ahead, len(outline.segments))


def _start(stretch: int, outline: Outline) -> int:
    """Return the instant at which a stretch begins; the one after the last is the track's end."""
    if stretch < 0:
        return 0
    if stretch < len(outline.segments):
        return outline.segments[stretch].start_ms
    return outline.row_end_ms if stretch == len(outline.segments) else outline.duration_ms


def _clock(ms: int) -> str:
    """Return an instant of the rowing clock as a plan writes it."""
    return ("-" if ms < 0 else "") + instant_text(abs(ms))
