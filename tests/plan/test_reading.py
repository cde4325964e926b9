"""Plans are read field by field as they say; an error points at the line that needs mending."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from cuegen.errors import PlanError
from cuegen.plan.fields import FIELDS, Field, field_table
from cuegen.plan.limits import MAX_FILE_CHARS
from cuegen.plan.model import (
    Audience,
    Bed,
    Block,
    Drop,
    Duration,
    OwnBed,
    Pin,
    QuietSpan,
    SayLine,
    Session,
    ToneSpan,
)
from cuegen.plan.notation import parse_notation
from cuegen.plan.reading import load_plan, read_plan

SESSION = "session: |\n  warm-up 6:00 r18\n  4 x 4:00 r18/20/22/24\n  cool-down 4:00\n"

FULL = """\
title: "Thursday: ladder"
audience: solo
rower: {name: Maren Holt, say: Mahren Holt}
session: |
  warm-up 6:00 r18
  4 x 4:00 r18/20/22/24
  cool-down 4:00
talk_share: 30%
voice: small
phrase_book: ours.yaml
language: en-GB
count_in: 5
lead_in: 0:45
caution: off
bed: {file: river.mp3, below: 24}
alert: on
stroke_tones: first-minute
loudness: -18
block: {name: Autumn base, week: 3}
say:
  - {at: "10:00", text: Half way.}
  - {segment: 2, after: "0:30", text: Settle.}
  - {segment: 3, before: "0:20", text: "Next: the rate."}
  - {segment: 4, text: At once.}
quiet:
  - 10:00-12:00
  - {from: "14:00", to: "14:30.5"}
drop: [s02.technique.3, settle]
pin:
  - {cue: s03.goal, at: "12:30"}
"""


def test_every_field_is_read_as_it_stands() -> None:
    assert read_plan(FULL) == Session(
        title="Thursday: ladder",
        entries=parse_notation("warm-up 6:00 r18\n4 x 4:00 r18/20/22/24\ncool-down 4:00"),
        audience=Audience.SOLO,
        rower="Maren Holt",
        rower_say="Mahren Holt",
        talk_share=0.3,
        voice="small",
        phrase_book="ours.yaml",
        language="en-GB",
        count_in=5,
        lead_in_ms=45_000,
        caution=False,
        bed=Bed("river.mp3", 24.0),
        alert=True,
        stroke_tones=ToneSpan.FIRST_MINUTE,
        loudness=-18.0,
        block=Block("Autumn base", 3),
        say=(
            SayLine("Half way.", at_ms=600_000),
            SayLine("Settle.", segment=2, offset_ms=30_000),
            SayLine("Next: the rate.", segment=3, offset_ms=-20_000),
            SayLine("At once.", segment=4),
        ),
        quiet=(QuietSpan(600_000, 720_000), QuietSpan(840_000, 870_500)),
        drop=(Drop("s02.technique.3"), Drop("settle")),
        pin=(Pin("s03.goal", at_ms=750_000),),
    )


def test_the_full_plan_has_every_field_of_the_table() -> None:
    written = re.findall(r"^(\w+):", FULL, re.MULTILINE)
    assert written == [field.name for field in FIELDS]


def test_a_session_alone_is_a_plan() -> None:
    session = read_plan("session: 20:00 r18-20\n")
    assert session == Session("Rowing session", parse_notation("20:00 r18-20"))


@pytest.mark.parametrize("field", FIELDS, ids=lambda field: field.name)
def test_the_example_of_each_field_reads_and_says_something(field: Field) -> None:
    rest = "" if field.name == "session" else SESSION
    session = read_plan(f"{field.example}\n{rest}")
    plain = read_plan(SESSION)
    assert field.name == "session" or field.of(session) != field.of(plain)


def test_the_table_for_the_docs_has_every_field_with_its_help() -> None:
    rows = field_table().splitlines()[2:]
    assert [row.split("`")[1] for row in rows] == [field.name for field in FIELDS]
    assert all(field.help in row for field, row in zip(FIELDS, rows, strict=True))


@pytest.mark.parametrize("version", ["", "%YAML 1.1\n---\n", "%YAML 1.2\n---\n"])
def test_times_without_quotes_are_times_in_every_yaml_version(version: str) -> None:
    """YAML 1.1 takes 6:00 for the number 360 (sexagesimal); a plan means six minutes."""
    plan = f"{version}lead_in: 6:00\nsay: [{{at: 1:10, text: x}}]\nsession: 6:00\n"
    session = read_plan(plan)
    assert session.lead_in_ms == 360_000
    assert session.say[0].at_ms == 70_000
    assert session.entries[0].lengths == (Duration(360_000),)


@pytest.mark.parametrize(
    ("field", "attribute", "value"),
    [
        ("talk_share: 0.35", "talk_share", 0.35),
        ("talk_share: 35%", "talk_share", 0.35),
        ("talk_share: 5 %", "talk_share", 0.05),
        ("caution: no", "caution", False),
        ("caution: On", "caution", True),
        ("bed: music/a b.mp3", "bed", Bed("music/a b.mp3", 20.0)),
        ("bed: {file: a.mp3}", "bed", Bed("a.mp3", 20.0)),
        ("bed: {file: a.mp3, below: 15 dB}", "bed", Bed("a.mp3", 15.0)),
        ("bed: [a.mp3, set two/]", "bed", Bed("a.mp3", 20.0, ("set two/",))),
        ("bed: {files: [a.mp3, b.ogg], below: 24}", "bed", Bed("a.mp3", 24.0, ("b.ogg",))),
        ("bed: {files: set/}", "bed", Bed("set/")),
        ("bed: pulse", "bed", Bed("pulse")),
        ("bed: {file: swell, below: 26}", "bed", Bed("swell", 26.0)),
        ("alert: on", "alert", True),
        ("alert: off", "alert", False),
        ("loudness: -16.5 LUFS", "loudness", -16.5),
        ("quiet: 1:00-2:00", "quiet", (QuietSpan(60_000, 120_000),)),
        ("quiet: 1:00 \N{EN DASH} 2:00", "quiet", (QuietSpan(60_000, 120_000),)),
        ("rower: Maren", "rower", "Maren"),
        ("title: 2026", "title", "2026"),
        ("title: off", "title", "off"),
        ("title: 'null'", "title", "null"),
        ("title: >\n  Two\n  lines", "title", "Two lines"),
        ("stroke_tones: All", "stroke_tones", ToneSpan.ALL),
        ("count_in: 0", "count_in", 0),
        ("lead_in: 10:00", "lead_in_ms", 600_000),
    ],
)
def test_each_way_to_write_a_field(field: str, attribute: str, value: object) -> None:
    assert getattr(read_plan(f"{field}\n{SESSION}"), attribute) == value


def test_byte_order_mark_and_windows_line_ends_do_not_matter() -> None:
    assert read_plan("\ufeff" + FULL.replace("\n", "\r\n")) == read_plan(FULL)


# a plan, line, column and text of the error, its words, its remedy
NO_PLAN = [
    ("", None, None, None, "the plan is empty", "session: |"),
    ("# only this\n", None, None, None, "the plan is empty", "session: |"),
    ("- 4:00\n", 1, 1, "- 4:00", "a plan is a list of fields", "session: |"),
    ("4:00 r18\n", 1, 1, "4:00 r18", "a plan is a list of fields", "session: |"),
    ("title: x\n", None, None, None, "the plan has no session", "session: |"),
    ("sesion: 4:00\n", 1, 1, "sesion", "no such field", "Did you mean 'session'"),
    ("session: 4:00\ntalk-share: 1\n", 2, 1, "talk-share", "no such field", "'talk_share'"),
    ("session: 4:00\nzzz: 1\n", 2, 1, "zzz", "no such field", "Known are: title, audience"),
    ("title: a\ntitle: b\n", 2, 1, "title", "this field stands twice", "Keep one"),
    ("bed: {file: a, file: b}\n", 1, 16, "file", "this field stands twice", "Keep one"),
    ("title: a\n---\ntitle: b\n", 2, 1, "---", "a second document", "one plan in a file"),
    ("session:\n", 1, 1, "session", "not in whiteboard notation", "session: |"),
    ("session: [4:00]\n", 1, 10, "[4:00]", "not in whiteboard notation", "session: |"),
    ("title: a: b\n", 1, 9, "title: a: b", "a colon stands where none can", "in quotes"),
    ("title: 'a\nsession: 4:00\n", 1, 8, "title: 'a", "quotation mark is not closed", "Close it"),
    ('title: "a\\q"\n', 1, 8, 'title: "a\\q"', "quotation mark is not closed", "single quotes"),
    ("title: [a\nsession: 4:00\n", 1, 8, "title: [a", "bracket is not closed", "Close it"),
    ("session: |\n\t4:00\n", 2, 1, "4:00", "a tab stands where spaces", "spaces"),
    ("title: @a\n", 1, 8, "title: @a", "keeps this character", "in quotes"),
    ("title: a\nfoo\n", 2, 1, "foo", "no colon after a field name", "name: value"),
    ("title: 'a' b\n", 1, 12, "title: 'a' b", "does not fit in with the lines", "same column"),
    ("title: a\x00\n", 1, 9, "\x00", "a character here is not text", "UTF-8"),
    ("%YAML 3.0\n---\na: b\n", 1, 1, "%YAML 3.0", "not well-formed YAML", "indentation"),
    ("title: &a x\n", 1, 8, "&a x", "anchors (&name) and aliases", "in quotes"),
    ("title: *a\n", 1, 8, "*a", "anchors (&name) and aliases", "Write the value out"),
    ("title: !!str x\n", 1, 8, "!!str x", "tags (!name) have no place", "Leave it out"),
    ("!plan\ntitle: x\n", 1, 1, "!plan", "tags (!name) have no place", "Leave it out"),
    ("? [a]\n: b\n", 1, 3, "[", "a field name is one text", "name: value"),
    ("title: " + "[" * 9 + "]" * 9, 1, 15, "[", "nested too deeply", "levels"),
]


def refused(plan: str, problem: str) -> PlanError:
    """The error of a plan, whose words are as given."""
    with pytest.raises(PlanError, match=re.escape(problem)) as caught:
        read_plan(plan, file="p.yaml")
    assert caught.value.where.file == "p.yaml"
    return caught.value


@pytest.mark.parametrize("case", NO_PLAN, ids=lambda case: repr(case[0])[:40])
def test_what_is_no_plan_is_refused_at_its_place(
    case: tuple[str, int | None, int | None, str | None, str, str],
) -> None:
    plan, line, column, text, problem, remedy = case
    bad = refused(plan, problem)
    assert (bad.where.line, bad.where.column, bad.where.text) == (line, column, text)
    assert remedy in bad.remedy


BAD_FIELDS = [
    ("title: [a]", 8, "[a]", "not a list", "plainly"),
    ("title: {a: b}", 8, "{a: b}", "not a mapping", "plainly"),
    ("title: ~", 8, "~", "no value stands here", "leave the field out"),
    ("title:", 1, "title", "no value stands here", "leave the field out"),
    ('title: " "', 8, '" "', "no value stands here", "leave the field out"),
    ('title: "a\\0"', 8, '"a\\0"', "a control character", "Delete"),
    ("audience: grup", 11, "grup", "not one of the choices", "Did you mean 'group'"),
    ("audience: 7", 11, "7", "not one of the choices", "group, solo"),
    ("talk_share: 35", 13, "35", "share is out of range", "Did you mean 35%"),
    ("talk_share: 0.9", 13, "0.9", "share is out of range", "0.05 to 0.8, or 5% to 80%"),
    ("talk_share: 4%", 13, "4%", "share is out of range", "5% to 80%"),
    ("talk_share: much", 13, "much", "a share should stand here", "0.35 or 35%"),
    ("language: english!", 11, "english!", "no language tag", "en-GB"),
    ("count_in: 11", 11, "11", "number is out of range", "0 to 10"),
    ("count_in: 2.5", 11, "2.5", "should be whole", "Write 2"),
    ("count_in: three", 11, "three", "a number should stand here", "0 to 10"),
    ("lead_in: 30", 10, "30", "a time should stand here", "m:ss"),
    ("lead_in: 10:01", 10, "10:01", "time is out of range", "0:00 to 10:00"),
    ("caution: maybe", 10, "maybe", "this is a switch", "on or off"),
    ("bed: {fil: a}", 7, "fil", "not known here", "Did you mean 'file'"),
    ("bed: {below: 20}", 6, "{below: 20}", "'file' is missing", "file: ..."),
    ("bed: []", 6, "[]", "this list is empty", "Name a file or a folder"),
    ("bed: {file: a, files: b}", 13, "a", "are one too many", "Keep `files`"),
    ("bed: [a.mp3, pulse]", 14, "pulse", "goes alone", "Write `bed: pulse`"),
    ("bed: [{file: a}]", 7, "{file: a}", "not a mapping", "Write it plainly"),
    ("alert: soft", 8, "soft", "this is a switch", "on or off"),
    ("bed: {file: a, below: 61}", 23, "61", "number is out of range", "0 to 60"),
    ("stroke_tones: first", 15, "first", "not one of the choices", "Did you mean 'first-minute'"),
    ("loudness: -9", 11, "-9", "number is out of range", "-30 to -10"),
    ("loudness: loud", 11, "loud", "a number should stand here", "-30 to -10"),
    ("block: Autumn", 8, "Autumn", "names with values should stand here", "{name: ..., week: ...}"),
    ("block: {name: Autumn}", 8, "{name: Autumn}", "'week' is missing", "week: ..."),
    ("block: {name: Autumn, week: 0}", 29, "0", "number is out of range", "1 to 520"),
    ("rower: {say: Mahren}", 8, "{say: Mahren}", "'name' is missing", "name: ..."),
    ("say: Hello", 6, "Hello", "a list should stand here", "- "),
    ("say: [{text: a}]", 7, "{text: a}", "no single instant", "at:"),
    ("say: [{at: 1:00}]", 7, "{at: 1:00}", "'text' is missing", "text: ..."),
    ("say: [{at: soon, text: a}]", 12, "soon", "a time should stand here", "m:ss"),
    ("say: [{after: 1:00, text: a}]", 7, "{after: 1:00, text: a}", "no single instant", "segment:"),
    (
        "say: [{segment: 1, at: 1:00, text: a}]",
        7,
        "{segment: 1, at: 1:00, text: a}",
        "no single instant",
        "at:",
    ),
    (
        "say: [{segment: 1, after: 1:00, before: 1:00, text: a}]",
        7,
        "{segment: 1, after: 1:00, before: 1:00, text: a}",
        "no single instant",
        "at:",
    ),
    ("say: [{segment: 1, before: 0:00, text: a}]", 28, "0:00", "time is out of range", "0:00.001"),
    ("say: [{segment: 7, text: a}]", 7, "{segment: 7, text: a}", "has no segment 7", "one is 6"),
    (
        "say: [{segment: 2, after: 4:00, text: a}]",
        7,
        "{segment: 2, after: 4:00, text: a}",
        "outside its segment",
        "lasts 4:00",
    ),
    (
        "say: [{segment: 2, before: 4:01, text: a}]",
        7,
        "{segment: 2, before: 4:01, text: a}",
        "outside its segment",
        "lasts 4:00",
    ),
    ("say: [{at: 26:00, text: a}]", 7, "{at: 26:00, text: a}", "after the last", "lasts 26:00"),
    ("quiet: [26:00-27:00]", 9, "26:00-27:00", "after the last stroke", "lasts 26:00"),
    ("quiet: 2:00-1:00", 8, "2:00-1:00", "ends before it begins", "earlier first"),
    ("quiet: 1:00-1:00", 8, "1:00-1:00", "ends before it begins", "earlier first"),
    ("quiet: 1:00", 8, "1:00", "a span has two times", "10:00-12:00"),
    ("quiet: 1:00-now", 8, "1:00-now", "a time should stand here", "m:ss"),
    ('quiet: [{from: "1:00"}]', 9, '{from: "1:00"}', "'to' is missing", "to: ..."),
]


@pytest.mark.parametrize(("field", "column", "text", "problem", "remedy"), BAD_FIELDS)
def test_a_field_that_cannot_be_so_is_refused_at_its_value(
    field: str, column: int, text: str, problem: str, remedy: str
) -> None:
    bad = refused(f"{SESSION}{field}\n", problem)
    assert (bad.where.line, bad.where.column, bad.where.text) == (5, column, text)
    assert remedy in bad.remedy


def test_a_text_beyond_its_length_is_refused() -> None:
    bad = refused(f"title: {'x' * 201}\n{SESSION}", "201 characters, over 200")
    assert (bad.where.line, bad.where.column) == (1, 8)


# the scalar that holds the session, and where 4:75 stands in it
SCALARS = {
    "literal": ("session: |\n  5:00\n\n  # c\n  4:75 r18\n", 5, 3),
    "literal, deep": ("session: |2\n    5:00\n     4:75\n", 3, 6),
    "literal, with a comment on its head": ("session: |-  # the work\n  5:00\n  4:75\n", 3, 3),
    "folded, blank lines between": ("session: >\n\n  5:00\n\n  4:75\n", 5, 3),
    "folded, one line for two": ("session: >\n  5:00 r18\n  @4:75\n", 3, 4),
    "plain": ("session: 4:75\n", 1, 10),
    "plain, on a line of its own": ("session:\n  4:75\n", 2, 3),
    "plain, over lines": ("session: 5:00\n\n  4:75\n", 3, 3),
    "single-quoted": ("session: '5:00 # ''a''\n\n   4:75'\n", 3, 4),
    "double-quoted": ('session: "5:00\\n4:75"\n', 1, 17),
    "double-quoted, escapes and a joined line": (
        'session: "5:00 \\x23 \\"a\\u00e9\\n\\\n    4:75"\n',
        2,
        5,
    ),
}


@pytest.mark.parametrize("name", SCALARS)
def test_an_error_in_the_session_has_the_line_and_column_of_the_file(name: str) -> None:
    plan, line, column = SCALARS[name]
    bad = refused("title: x\n" + plan, "seconds go up to 59, not 75")
    assert (bad.where.line, bad.where.column, bad.where.text) == (line + 1, column, "4:75")


def test_a_folded_session_is_told_how_to_keep_its_lines() -> None:
    bad = refused("session: >\n  5:00\n  4:00 r18\n", "no place here")
    assert (bad.where.line, bad.where.text) == (3, "4:00")
    assert "session: |" in bad.remedy


def test_entries_and_own_lines_know_where_they_stand() -> None:
    session = read_plan(FULL, file="p.yaml")
    assert (session.where.file, session.where.line) == ("p.yaml", 1)
    assert [(entry.where.line, entry.where.column) for entry in session.entries] == [
        (5, 3),
        (6, 3),
        (7, 3),
    ]
    assert [line.where.line for line in session.say] == [21, 22, 23, 24]
    assert [span.where.line for span in session.quiet] == [26, 27]


def test_an_alias_bomb_is_refused_before_it_expands() -> None:
    bomb = "a: &a [x, x, x, x, x, x, x, x, x]\n" + "".join(
        f"{name}: &{name} [{', '.join([f'*{before}'] * 9)}]\n"
        for before, name in zip("abcdefgh", "bcdefghi", strict=True)
    )
    bad = refused(bomb, "anchors (&name) and aliases (*name) have no place here")
    assert (bad.where.line, bad.where.column) == (1, 4)


def test_a_huge_file_is_refused_before_it_is_read() -> None:
    refused("#" * (MAX_FILE_CHARS + 1), "over 1000000 characters")


def test_a_file_of_endless_parts_is_refused() -> None:
    refused("say: [" + "x," * 30_000 + "]\n", "too many parts")


def test_a_line_within_a_distance_session_is_not_reckoned() -> None:
    """How long metres take is not the plan's to say, so no instant is too late."""
    plan = "session: 500m\nsay: [{at: '9:00', text: a}, {segment: 1, after: '9:00', text: b}]\n"
    assert [line.at_ms or line.offset_ms for line in read_plan(plan).say] == [540_000, 540_000]


def test_loading_takes_relative_paths_from_the_plans_folder(tmp_path: Path) -> None:
    plan = tmp_path / "plans" / "a.yaml"
    plan.parent.mkdir()
    plan.write_text(
        "bed: {file: music/a.mp3, below: 25}\nphrase_book: ours.yaml\n"
        "voice: piper:coach.onnx\n" + SESSION
    )
    session = load_plan(plan)
    assert session.bed == Bed(str(plan.parent / "music" / "a.mp3"), 25.0)
    assert session.phrase_book == str(plan.parent / "ours.yaml")
    assert session.voice == f"piper:{plan.parent / 'coach.onnx'}"


def test_loading_takes_every_file_of_a_bed_from_the_plans_folder(tmp_path: Path) -> None:
    plan = tmp_path / "a.yaml"
    plan.write_text(f"bed: [river.mp3, set/, {tmp_path / 'b.mp3'}]\n{SESSION}")
    paths = [str(tmp_path / name) for name in ("river.mp3", "set", "b.mp3")]
    assert load_plan(plan).bed == Bed(paths[0], more=tuple(paths[1:]))


@pytest.mark.parametrize("name", OwnBed)
def test_a_bed_of_ours_is_never_taken_for_a_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    """Though a folder of that name lies beside the plan, which `./pulse` or `pulse/` means."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / name).mkdir()
    heard = []
    for written in (name, f"./{name}", f"{name}/"):
        Path("a.yaml").write_text(f"bed: {written}\n{SESSION}")
        bed = load_plan(Path("a.yaml")).bed
        assert bed is not None
        heard.append(bed.file)
    assert heard == [name, f"./{name}", f"./{name}"]


def test_loading_keeps_names_and_absolute_paths(tmp_path: Path) -> None:
    plan = tmp_path / "a.yaml"
    plan.write_text(f"bed: {tmp_path / 'b.mp3'}\nphrase_book: plain\nvoice: small\n{SESSION}")
    session = load_plan(plan)
    assert (session.bed, session.phrase_book, session.voice) == (
        Bed(str(tmp_path / "b.mp3")),
        "plain",
        "small",
    )


def test_an_error_in_a_loaded_plan_names_the_file(tmp_path: Path) -> None:
    plan = tmp_path / "a.yaml"
    plan.write_text("session: |\n  5m\n")
    with pytest.raises(PlanError, match="too short") as caught:
        load_plan(plan)
    assert str(caught.value).startswith(f"{plan}, line 2, column 3: '5m': 5 m is too short")


def test_a_plan_that_is_not_there_or_is_no_text_is_an_error(tmp_path: Path) -> None:
    with pytest.raises(PlanError, match="there is no such plan"):
        load_plan(tmp_path / "none.yaml")
    with pytest.raises(PlanError, match="this is a folder, not a plan"):
        load_plan(tmp_path)
    (tmp_path / "a.yaml").write_bytes(b"title: \xff\xfe")
    with pytest.raises(PlanError, match="not UTF-8"):
        load_plan(tmp_path / "a.yaml")


def test_a_file_far_too_large_is_refused_unread(tmp_path: Path) -> None:
    plan = tmp_path / "a.yaml"
    with plan.open("wb") as file:
        file.truncate(4 * MAX_FILE_CHARS + 1)
    with pytest.raises(PlanError, match="far too large to be a plan"):
        load_plan(plan)
