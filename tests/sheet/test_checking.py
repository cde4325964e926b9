"""One broken rule, one error that names it."""

from __future__ import annotations

import pytest

from cuegen.errors import SheetError
from cuegen.schedule.cuesheet import CueSheet, Sound
from cuegen.sheet.checking import check_sheet
from cuegen.sheet.json_format import from_text, to_text
from tests.sheet.samples import cues, sample_sheet, segments


def with_cue(index: int, **changes: object) -> CueSheet:
    changed = list(cues())
    changed[index] = changed[index].model_copy(update=changes)
    return sample_sheet(cues=tuple(changed))


def with_segment(index: int, **changes: object) -> CueSheet:
    changed = list(segments())
    changed[index] = changed[index].model_copy(update=changes)
    return sample_sheet(segments=tuple(changed))


def swapped() -> CueSheet:
    first, second, *rest = cues()
    return sample_sheet(cues=(second, first, *rest))


def test_the_sample_is_sound() -> None:
    check_sheet(sample_sheet())


CASES = [
    (sample_sheet(duration_ms=86_400_001), "24:00:00.001, longer than a day"),
    (sample_sheet(segments=()), "no segments"),
    (sample_sheet(talk_share=float("inf")), "talk_share is inf"),
    (sample_sheet(sound=Sound(loudness_lufs=float("-inf"))), "loudness_lufs is -inf"),
    (with_segment(2, watts=float("nan")), "watts of segment 3 is nan"),
    (sample_sheet(lead_in_ms=24_999), "segment 1 starts at 00:00:25.000, the lead-in ends"),
    (sample_sheet(row_end_ms=661_251), "the last segment ends at 00:11:01.250, row_end_ms says"),
    (sample_sheet(duration_ms=661_249), "rowing ends at 00:11:01.250, after the track"),
    (with_segment(1, end_ms=384_000), "a hole between segment 2, .* and segment 3"),
    (with_segment(1, end_ms=386_000), "an overlap between segment 2, .* and segment 3"),
    (with_segment(1, end_ms=145_000), "segment 2 ends at 00:02:25.000, not after its start"),
    (with_segment(1, rate="fast"), "the rate of segment 2 is 'fast'"),
    (with_segment(1, split_ms=0), "the split of segment 2 is 0 ms"),
    (with_cue(1, id="welcome"), "two cues are called 'welcome': 'Welcome .*' and 'Stop"),
    (with_cue(1, id=" \n"), "the cue 'Stop if anything hurts.' has an empty id"),
    (with_cue(1, text=" \t"), "cue 'caution' has nothing to say"),
    (with_cue(1, text="a\ud800"), "the text of cue 'caution' holds half a character"),
    (with_cue(1, start_ms=6_001), "cue 'caution': its first word begins at 00:00:06.010"),
    (with_cue(1, end_ms=6_010), "cue 'caution' ends at 00:00:06.010, not after its first word"),
    (with_cue(16, end_ms=671_001), "cue 'results' ends at 00:11:11.001, after the track"),
    (with_cue(1, segment=4), "cue 'caution' belongs to segment index 4, .* only 4"),
    (with_cue(12, at_ms=459_000, start_ms=458_990, end_ms=460_100), "'technique.2.1' .* quiet"),
    (swapped(), "cue 'welcome' at 00:00:00.500 stands behind 'caution' at 00:00:06.010"),
    (with_cue(0, end_ms=6_001), "cues 'welcome' and 'caution' overlap: the first ends at"),
]


@pytest.mark.parametrize(("sheet", "message"), CASES)
def test_a_broken_rule_is_named(sheet: CueSheet, message: str) -> None:
    with pytest.raises(SheetError, match=message):
        check_sheet(sheet)


def test_a_firm_cue_may_speak_in_the_quiet() -> None:
    moved = {"at_ms": 441_000, "start_ms": 440_990, "end_ms": 441_500}
    firm = cues()[11].model_copy(update=moved)
    check_sheet(sample_sheet(cues=(*cues()[:11], firm)))


def test_touching_cues_do_not_overlap() -> None:
    check_sheet(with_cue(0, end_ms=6_000))


def test_the_json_reader_checks_and_names_the_file() -> None:
    text = to_text(with_cue(0, end_ms=6_001))
    with pytest.raises(SheetError, match=r"^s\.json: cues 'welcome' and 'caution' overlap"):
        from_text(text, "s.json")
