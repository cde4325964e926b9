"""The cue sheet as JSON: what is kept, handed on and rendered from.

Conventions
    Fields stand in the order of the model, two spaces deep, so that two sheets
    compare line by line. Reading is strict: no number in quotation marks, no
    unknown field, no field twice, no version newer than this program knows.

Sources: RFC 8259 (JSON); the published schema is cuegen.sheet.schema.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, NoReturn

from pydantic import ValidationError
from pydantic_core import ErrorDetails
from rapidfuzz import process

from cuegen.errors import SheetError, Where
from cuegen.schedule.cuesheet import SHEET_VERSION, CueSheet
from cuegen.sheet.checking import check_sheet
from cuegen.sheet.json_places import PathStep, line_and_column, path_text

_SHOWN = 80


def to_text(sheet: CueSheet) -> str:
    """Return the sheet as pretty JSON that ends with a line break."""
    return json.dumps(sheet.model_dump(mode="json"), indent=2, ensure_ascii=False) + "\n"


def from_text(text: str, file: str | None = None) -> CueSheet:
    """Return the sheet of a JSON text, checked whole; SheetError says what is wrong and where."""
    text = text.removeprefix("\ufeff")
    data = _parse(text, file)
    _check_version(data, text, file)
    try:
        sheet = CueSheet.model_validate_json(text, strict=True)
    except ValidationError as bad:
        raise _schema_error(bad.errors(include_url=False), text, file) from None
    try:
        check_sheet(sheet)
    except SheetError as bad:
        raise SheetError(bad.problem, where=Where(file=file), remedy=bad.remedy) from None
    return sheet


def _parse(text: str, file: str | None) -> object:
    try:
        return json.loads(text, object_pairs_hook=_unique, parse_constant=_refuse_constant)
    except json.JSONDecodeError as bad:
        raise SheetError(
            f"this is not JSON: {bad.msg[0].lower()}{bad.msg[1:]}",
            where=Where(file, bad.lineno, bad.colno, _line_of(text, bad.lineno)),
            remedy="Look at that place and just before it: a comma, quote or bracket is amiss.",
        ) from None
    except RecursionError:
        raise SheetError(
            "the JSON is nested too deeply to be a cue sheet", where=Where(file)
        ) from None
    except ValueError as bad:  # a field twice, NaN, a number of thousands of digits
        raise SheetError(
            f"this JSON cannot be a cue sheet: {bad}",
            where=Where(file),
            remedy="Take it out, or write the sheet again.",
        ) from None


def _line_of(text: str, line: int) -> str | None:
    lines = text.split("\n")
    return lines[line - 1].strip()[:_SHOWN] or None


def _unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise ValueError(f"the field {twice!r} stands twice in one object")
    return made


def _refuse_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is not a number")


def _check_version(data: object, text: str, file: str | None) -> None:
    if not isinstance(data, Mapping):
        raise SheetError(
            "a cue sheet is one JSON object",
            where=Where(file, 1, 1, text[:_SHOWN].strip()),
            remedy="Begin with { and the fields of a sheet; `cuegen sheet PLAN` writes one.",
        )
    version = data.get("version", SHEET_VERSION)
    if isinstance(version, int) and not isinstance(version, bool):
        if version == SHEET_VERSION:
            return
        if version > SHEET_VERSION:
            problem = (
                f"this sheet is of version {version}, newer than this cuegen, "
                f"which reads version {SHEET_VERSION}"
            )
            remedy = "Update cuegen, or write the sheet again with this one."
            raise SheetError(problem, where=_where(text, ["version"], file), remedy=remedy)
    raise SheetError(
        f"{_value_text(version)} is no version of a cue sheet",
        where=_where(text, ["version"], file),
        remedy=f"Write the sheet again from its plan; the version is {SHEET_VERSION}.",
    )


def _where(text: str, path: list[PathStep], file: str | None) -> Where:
    line, column = line_and_column(text, path)
    return Where(file, line, column)


def _value_text(value: object) -> str:
    text = json.dumps(value, ensure_ascii=False, default=str)
    return text if len(text) <= _SHOWN else f"{text[:_SHOWN]}..."


def _schema_error(errors: list[ErrorDetails], text: str, file: str | None) -> SheetError:
    """Return the first of pydantic's errors in our words."""
    first = errors[0]
    path = list(first["loc"])
    problem, remedy = _explain(first, path)
    if len(errors) > 1:
        rest = len(errors) - 1
        remedy += f" ({rest} more {'fault' if rest == 1 else 'faults'} after this one.)"
    return SheetError(problem, where=_where(text, path, file), remedy=remedy)


def _explain(error: ErrorDetails, path: list[PathStep]) -> tuple[str, str]:
    place = path_text(path)
    if error["type"] == "missing":
        return f"{place} is missing", f"Add the field {path[-1]!r}."
    if error["type"] == "extra_forbidden":
        return f"{place} is no field of a cue sheet", _nearest(path)
    wish = error["msg"].removeprefix("Input should be ").removeprefix("a valid ")
    return f"{place} is {_value_text(error['input'])}", f"It should be {wish}."


def _nearest(path: list[PathStep]) -> str:
    names = _fields_at(path)
    found = process.extractOne(str(path[-1]), names, score_cutoff=60)
    hint = f" Perhaps {found[0]!r} was meant." if found else ""
    return f"Take it out.{hint}"


def _fields_at(path: list[PathStep]) -> list[str]:
    """Return the field names of the model that holds a path, from the schema itself."""
    schema = CueSheet.model_json_schema()
    here: dict[str, Any] = schema
    for step in path[:-1]:
        here = here["items"] if isinstance(step, int) else here["properties"][step]
        for option in (here, *here.get("anyOf", ()), *here.get("allOf", ())):
            if "$ref" in option:
                here = schema["$defs"][option["$ref"].rsplit("/", 1)[-1]]
    return list(here.get("properties", ()))
