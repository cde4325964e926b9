"""JSON comes back equal; what is wrong in it is named with line, path and remedy."""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import cache
from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings

from cuegen.errors import SheetError
from cuegen.resources import shared_dir
from cuegen.schedule.cuesheet import CueSheet
from cuegen.sheet.json_format import from_text, to_text
from cuegen.sheet.json_places import line_and_column
from cuegen.sheet.schema import REFRESH_COMMAND, schema_text
from tests.sheet.samples import sample_sheet
from tests.sheet.strategies import sheets

Edit = Callable[[dict[str, Any]], object]


def edited(edit: Edit) -> str:
    data = json.loads(to_text(sample_sheet()))
    edit(data)
    return json.dumps(data, indent=2)


@given(sheets())
def test_any_sheet_comes_back_equal(sheet: CueSheet) -> None:
    assert from_text(to_text(sheet)) == sheet


def test_text_is_the_same_each_time_and_two_spaces_deep() -> None:
    text = to_text(sample_sheet())
    assert text == to_text(from_text(text))
    assert text.startswith('{\n  "version": 1,\n  "title": "Alder ladder <thirteen>",\n')
    assert text.endswith("}\n")


def test_a_byte_order_mark_does_no_harm() -> None:
    assert from_text("\ufeff" + to_text(sample_sheet())) == sample_sheet()


SYNTAX = [
    ('{\n  "title": "x"\n  "b": 1}', r"s\.json, line 3, column 3: .*: this is not JSON"),
    ("", r"s\.json, line 1, column 1: this is not JSON: expecting value"),
    ('{"title": "x"', r"line 1, column 14.*this is not JSON"),
    ("[" * 100_000, "nested too deeply"),
    ('{"title": 1, "title": 2}', "the field 'title' stands twice"),
    ('{"talk_share": NaN}', "NaN is not a number"),
    ('{"talk_share": -Infinity}', "-Infinity is not a number"),
    ('{"duration_ms": ' + "9" * 5_000 + "}", "cannot be a cue sheet"),
    ("[1, 2]", "a cue sheet is one JSON object"),
]


@pytest.mark.parametrize(("text", "message"), SYNTAX)
def test_text_that_is_no_json_sheet_is_refused(text: str, message: str) -> None:
    with pytest.raises(SheetError, match=message):
        from_text(text, "s.json")


FIELDS: list[tuple[Edit, str]] = [
    (lambda d: d.update(version=2), r"line 2, column 14: this sheet is of version 2, newer"),
    (lambda d: d.update(version=0), "0 is no version"),
    (lambda d: d.update(version="1"), '"1" is no version'),
    (lambda d: d.update(version=True), "true is no version"),
    (lambda d: d.pop("title"), r"line 1, column 1: title is missing\n  Add the field 'title'"),
    (lambda d: d["cues"][3].pop("at_ms"), r"cues\[3\]\.at_ms is missing"),
    (
        lambda d: d["cues"][2].update(at_ms="22000"),
        r'cues\[2\]\.at_ms is "22000"\n  It should be .*integer',
    ),
    (lambda d: d["cues"][2].update(at_ms=-4), r"cues\[2\]\.at_ms is -4\n  .*greater than or equal"),
    (lambda d: d["cues"][0].update(kind="shout"), r'cues\[0\]\.kind is "shout"\n  .*welcome'),
    (lambda d: d["cues"][0].update(text=""), r'cues\[0\]\.text is ""'),
    (lambda d: d["cues"][0].update(speed=9.5), r"cues\[0\]\.speed is 9\.5"),
    (lambda d: d["segments"][1].update(rate=20), r"segments\[1\]\.rate is 20\n"),
    (lambda d: d.update(titel="x"), r"titel is no field.*\n  .*Perhaps 'title'"),
    (
        lambda d: d["cues"][1].update(sgement=0),
        r"cues\[1\]\.sgement is no field.*\n  .*Perhaps 'segment'",
    ),
    (
        lambda d: d["sound"]["bed"].update(belowdb=3),
        r"sound\.bed\.belowdb is no field.*\n  .*Perhaps 'below_db'",
    ),
    (lambda d: d.update(cues={}), r"cues is \{\}"),
    (lambda d: (d.pop("title"), d.pop("audience")), r"1 more fault after this one"),
]


@pytest.mark.parametrize(("edit", "message"), FIELDS)
def test_a_wrong_field_is_named_with_its_path_value_and_remedy(edit: Edit, message: str) -> None:
    with pytest.raises(SheetError, match=message):
        from_text(edited(edit), "s.json")


def test_a_wrong_field_is_found_on_its_line() -> None:
    text = edited(lambda d: d["cues"][4].update(at_ms="soon"))
    line = next(n for n, row in enumerate(text.splitlines(), 1) if '"soon"' in row)
    with pytest.raises(SheetError) as caught:
        from_text(text, "s.json")
    assert (caught.value.where.file, caught.value.where.line) == ("s.json", line)


def test_a_huge_value_is_cut_short() -> None:
    with pytest.raises(SheetError) as caught:
        from_text(edited(lambda d: d.update(duration_ms="x" * 1_000)))
    assert len(str(caught.value)) < 300


def test_places_are_found_past_nested_values_and_escapes() -> None:
    text = '{"a": [1, {"b\\"": "}]"}],\n  "c": {"d": [[], {}, 5]}}'
    assert line_and_column(text, ["c", "d", 2]) == (2, 23)
    assert line_and_column(text, ["a", 1, 'b"']) == (1, 19)
    assert line_and_column(text, ["c", "none"]) == (2, 8)


def test_the_published_schema_is_that_of_the_model() -> None:
    published = (shared_dir() / "cue-sheet.schema.json").read_text(encoding="utf-8")
    assert json.loads(published) == CueSheet.model_json_schema(), f"refresh: {REFRESH_COMMAND}"
    assert published == schema_text(), f"refresh: {REFRESH_COMMAND}"


@cache
def published_validator() -> jsonschema.Draft202012Validator:
    schema = json.loads((shared_dir() / "cue-sheet.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


@settings(max_examples=20)
@given(sheets())
def test_jsonschema_accepts_what_we_write(sheet: CueSheet) -> None:
    assert published_validator().is_valid(json.loads(to_text(sheet)))


NOT_IN_SCHEMA = [edit for edit, message in FIELDS if "version" not in message]


@pytest.mark.parametrize("edit", NOT_IN_SCHEMA)
def test_jsonschema_refuses_what_we_refuse(edit: Edit) -> None:
    assert not published_validator().is_valid(json.loads(edited(edit)))
