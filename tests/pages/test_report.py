"""The report page: verdict on top, faults worst first, nothing run, all words shown as words."""

from __future__ import annotations

from pathlib import Path

import pytest

from cuegen.errors import OutputError
from cuegen.pages.report import report_page, save_report_page
from cuegen.verify.report import Check, Fault, HallHeard, ListeningReport, Notice, Verdict
from tests.pages.samples import bad_report, good_report, heard
from tests.sheet.pages import Page, read_page


def page_of(report: ListeningReport) -> Page:
    page = read_page(report_page(report))
    page.check_self_contained()
    return page


def test_the_verdict_is_the_first_heading_and_in_the_title() -> None:
    page = page_of(good_report())
    assert page.texts("title") == ["OK: Alder ladder"]
    assert page.texts("h2")[0] == "OK"
    expected = (
        "OK In all that was checked, this track is what its sheet asks. 17 of 17 lines on time "
        "(firm within 0.2 ms), 61 of 61 words heard, -17.4 LUFS"
    )
    assert page.texts("section")[0].startswith(expected)


def test_a_failed_report_lists_its_faults_worst_first_with_line_and_time() -> None:
    page = page_of(bad_report())
    assert page.texts("h2")[:2] == ["Failed", "What is wrong, worst first"]
    faults = page.texts("li")[:5]
    assert faults == [
        "5:25 the line is not there cue left.1.60: \u201cOne minute left.\u201d",
        "6:25 60.0 ms late cue change.2: \u201cRate up, twenty-four.\u201d",
        "11:04 740.0 ms early cue results: \u201cWrite your splits down.\u201d",
        "1:20 two sixteen heard cue goal.1: \u201cNext: twenty, two fourteen.\u201d",
        "file -14.2 LUFS, 3.3 LU above the target",
    ]


def test_a_report_without_faults_has_no_list_of_them() -> None:
    assert "What is wrong, worst first" not in page_of(good_report()).text


def test_what_was_not_checked_is_said_and_never_called_ok() -> None:
    page = page_of(good_report())
    assert "silence : a bed sounds all through" in page.texts("li")
    row = next(row for row in page.texts("tr") if row.startswith("silence where"))
    assert row.endswith("not checked")


def test_each_check_shows_what_was_asked_and_what_was_heard() -> None:
    rows = page_of(bad_report()).texts("tr")
    assert "the file is as long as planned \u00b1100 ms \u221242 ms ok" in rows
    assert (
        "each line begins on its instant firm \u00b110 ms, floating \u00b150 ms "
        "firm within 60.0 ms, floating within 740.0 ms 2 faults"
    ) in rows
    loudness = "integrated loudness meets its target \u221217.5 LUFS \u00b10.5 LU \u221214.2 LUFS"
    assert f"{loudness} 1 fault" in rows
    assert "true peak of the decoded file at most \u22121 dBTP \u22121.3 dBTP ok" in rows


def test_each_line_shows_its_offset_or_that_it_was_not_found() -> None:
    rows = page_of(bad_report()).texts("tr")
    assert "6:25 \u25a0 firm Rate up, twenty-four. 60.0 ms late +60.0 3 of 3" in rows
    assert "5:25 One minute left. not there not found 3 of 3" in rows
    assert "0:24 \u25a0 firm One. 0.0" in rows


def test_lines_at_fault_are_marked_and_only_they() -> None:
    marked = [e.text for e in page_of(bad_report()).having("tr", "at-fault") if ":" in e.text[:5]]
    furthest, every = marked[:3], marked[3:]
    assert [row.split()[0] for row in furthest] == ["5:25", "11:04", "6:25"]
    assert [row.split()[0] for row in every] == ["1:20", "5:25", "6:25", "11:04"]


def test_the_plot_has_a_mark_for_each_line_that_was_found() -> None:
    page = page_of(bad_report())
    assert len(page.having("rect", "firm")) == 8
    assert len(page.having("circle", "dot")) == 8  # nine floating lines, one missing
    assert len(page.having("rect", "out")) + len(page.having("circle", "out")) == 2
    assert len(page.having("line", "grid")) == 4
    assert "what stands at the edge lies further out" in page.texts("figcaption")[0]


def test_a_line_that_was_not_found_has_a_cross_where_it_was_planned() -> None:
    """5:25.125 of 11:11 is at 40 + 294 x 325.125 / 671 = 182.5."""
    page = page_of(bad_report())
    assert [e.attributes["d"] for e in page.having("path", "missing")] == [
        "M178.5 84l8 8m0 -8l-8 8"
    ]
    assert "\u00d7 not found" in page.texts("figcaption")[0]
    assert "not found" not in page_of(good_report()).texts("figcaption")[0]


def test_the_lines_furthest_off_stand_worst_first_beside_what_was_asked() -> None:
    """What is missing comes first, then what is furthest off for what it was allowed."""
    rows = page_of(bad_report()).texts("tr")
    assert rows[:6] == [
        "Time Line Off by, ms Asked",
        "5:25 One minute left. not found \u00b150",
        "11:04 Write your splits down. \u2212740.0 \u00b150",
        "6:25 Rate up, twenty-four. +60.0 \u00b110",
        *rows[4:6],
    ]
    assert all(row.endswith("\u00b110") for row in rows[4:6])


def test_a_track_whose_lines_are_all_in_place_says_so_instead() -> None:
    lines = tuple(cue.model_copy(update={"offset_ms": 0.04}) for cue in good_report().cues)
    page = page_of(good_report(cues=lines))
    assert "No line lies as far as 0.1 ms off its instant." in page.text
    assert "Furthest off, worst first" not in page.texts("h2")


def loud_report(**changes: object) -> ListeningReport:
    """Return a report of 11 minutes with a curve: -18, a silence, and one second at -12."""
    curve = [-18.0] * 300 + [None] * 20 + [-18.0] * 349
    curve[100] = -12.0
    return good_report(short_term_lufs=tuple(curve), **changes)


def test_the_loudness_is_drawn_and_told_in_words() -> None:
    page = page_of(loud_report())
    assert len(page.having("polyline", "curve")) == 2
    words = page.texts("figcaption")[1]
    assert "The target of \u221217.5 \u00b10.5 LU (the line with its band)" in words
    assert "is for the whole file, which has \u221217.4: the curve may run above and below" in words
    assert "Loudest: \u221212.0 LUFS around 1:42; softest: \u221218.0 LUFS around 0:02" in words
    spoken = page.texts("desc")[1]
    assert "Loudest: \u221212.0 LUFS around 1:42" in spoken
    assert "The target is \u221217.5 LUFS" in spoken


def test_without_a_curve_no_loudness_is_drawn() -> None:
    assert "Loudness over time" not in page_of(good_report()).texts("h2")


def bedded_report() -> ListeningReport:
    """Return a report with a bed: one line too close to it, a shorter one closer yet allowed."""
    over = {"goal.1": 15.0, "count.0.1": 12.0, "results": 60.0, "left.1.60": None}
    cues = tuple(
        cue.model_copy(update={"below_db": over.get(cue.id, 23.0)}) for cue in good_report().cues
    )
    fault = Fault(check=Check.BED, problem="too close", cue="goal.1", at_ms=80_007)
    return good_report(cues=cues, faults=(fault,), verdict=Verdict.FAILED)


def test_speech_over_its_bed_is_drawn_line_by_line_and_the_worst_is_named() -> None:
    page = page_of(bedded_report())
    words = page.texts("figcaption")[1]
    assert "full line: the 22.5 dB that were asked" in words
    assert "All lines together: 23.4 dB." in words
    assert words.endswith(
        "Worst (ringed): 15.0 dB at 1:20, \u201cNext: twenty, two fourteen.\u201d"
    )
    assert "Worst: 15.0 dB at 1:20" in page.texts("desc")[1]
    dots = len(page.having("rect", "dot")) + len(page.having("circle", "dot"))
    assert dots == 17 + 16  # every line in the first drawing, all but the unmeasured in this
    assert len(page.having("circle", "out")) + len(page.having("rect", "out")) == 1
    assert len(page.having("circle", "worst")) == 1


def test_a_bed_without_a_fault_has_its_closest_line_named() -> None:
    report = bedded_report().model_copy(update={"faults": (), "verdict": Verdict.OK})
    words = page_of(report).texts("figcaption")[1]
    assert words.endswith("Closest (ringed): 12.0 dB at 0:24, \u201cOne.\u201d")


def test_voice_alone_has_no_drawing_of_a_bed() -> None:
    report = bedded_report().model_copy(update={"speech_to_bed_db": None})
    assert "Speech over what sounds under it" not in page_of(report).texts("h2")


def test_words_that_a_fault_names_are_not_said_twice() -> None:
    text = "Next: twenty, two fourteen."
    fault = Fault(check=Check.BED, problem=f"what is under {text!r}", cue="goal.1", at_ms=80_007)
    page = page_of(bad_report(faults=(fault,)))
    assert page.texts("li")[0] == f"1:20 what is under {text!r} cue goal.1"


def test_without_a_line_found_there_is_no_plot() -> None:
    report = bad_report(cues=(heard("goal.1", None),), worst_firm_ms=None, worst_floating_ms=None)
    assert page_of(report).having("svg") == []


def test_silence_has_no_figures_to_show() -> None:
    report = bad_report(loudness_lufs=None, true_peak_dbtp=None, speech_to_bed_db=None)
    rows = page_of(report).texts("tr")
    assert "true peak of the decoded file at most \u22121 dBTP ok" in rows
    assert not any("None" in row for row in rows)


def clear_report() -> ListeningReport:
    """Return a good report with figures of clearness: one line of three is hard to hear."""
    figures = {
        "goal.1": (0.99, 0.94, 0.81),
        "left.1.60": (0.98, 0.9, 0.66),
        "results": (0.97, 0.9, 0.74),
    }
    cues = tuple(
        cue.model_copy(update={"stoi": figures.get(cue.id, ()), "below_db": 21.4})
        for cue in good_report().cues
    )
    hall = HallHeard(
        name="a full hall",
        over_lu=3.0,
        median_stoi=0.74,
        worst_stoi=0.66,
        worst_cue="left.1.60",
        hard=1,
        words_pct=96,
    )
    quiet = hall.model_copy(update={"name": "a quiet studio", "over_lu": 20.0, "hard": 0})
    notice = Notice(
        problem="'One minute left.' would be hard to hear in a full hall",
        remedy="Say it in other words.",
        cue="left.1.60",
        at_ms=325_125,
    )
    return good_report(cues=cues, halls=(quiet, hall), notices=(notice,))


def test_lines_that_are_hard_to_hear_are_named_and_fail_nothing() -> None:
    page = page_of(clear_report())
    assert page.texts("h2")[0] == "OK"
    assert "1 line hard to hear in a full hall" in page.texts("section")[0]
    assert (
        "5:25 'One minute left.' would be hard to hear in a full hall. Say it in other words."
        in page.texts("li")
    )


def test_what_each_hall_leaves_of_the_lines_is_shown() -> None:
    rows = page_of(clear_report()).texts("tr")
    assert "a quiet studio 20 LU 0.74, 0.66 about 96 in 100 0" in rows
    assert "a full hall 3 LU 0.74, 0.66 about 96 in 100 1" in rows


def test_the_least_clear_lines_stand_first() -> None:
    rows = page_of(clear_report()).texts("tr")
    first = rows.index("Time Line Over all else, dB STOI")
    assert rows[first + 1 : first + 4] == [
        "5:25 One minute left. 21.4 0.66",
        "11:04 Write your splits down. 21.4 0.74",
        "1:20 Next: twenty, two fourteen. 21.4 0.81",
    ]


def test_each_line_shows_how_far_it_lies_over_its_bed() -> None:
    rows = page_of(clear_report()).texts("tr")
    assert "0:24 \u25a0 firm One. 0.0 21.4" in [" ".join(row.split()) for row in rows]


def test_a_track_of_voice_alone_has_nothing_to_lie_over() -> None:
    page = page_of(clear_report().model_copy(update={"speech_to_bed_db": None}))
    assert "Over all else" not in page.text
    assert "5:25 One minute left. 0.66" in page.texts("tr")


def test_the_page_cautions_about_level_and_claims_none_at_the_ear() -> None:
    text = page_of(clear_report()).text
    assert "Set the level by ear, low enough to talk over." in text
    assert "Loud sound harms hearing" in text
    assert "dB(A)" not in text
    assert "dBA" not in text


def test_the_loudness_range_is_shown() -> None:
    assert "Loudness range 4.2 LU (EBU Tech 3342)" in page_of(good_report()).text


def test_without_figures_nothing_is_said_of_halls() -> None:
    text = page_of(good_report()).text
    assert "How clear it is" not in text
    assert "STOI" not in text


def test_a_rower_called_script_is_shown_not_run() -> None:
    bad = "<script>alert('Kit')</script>"
    line = heard("goal.1", 0.0).model_copy(update={"text": bad, "why": bad})
    fault = Fault(check=Check.WORDS, problem=bad, cue="goal.1", at_ms=0)
    report = bad_report(title=bad, file=bad, cues=(line,), faults=(fault,))
    assert report.verdict is Verdict.FAILED
    page = page_of(report)
    assert page.texts("h1") == [bad]
    assert page.texts("title") == [f"Failed: {bad}"]
    assert page.text.count(bad) >= 6


def test_the_page_is_written_whole(tmp_path: Path) -> None:
    save_report_page(good_report(), tmp_path / "report.html")
    assert (tmp_path / "report.html").read_text(encoding="utf-8") == report_page(good_report())


def test_a_place_that_cannot_be_written_to_is_named(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="could not write"):
        save_report_page(good_report(), tmp_path)
