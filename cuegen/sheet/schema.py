"""The published JSON Schema of the cue sheet, shared/cue-sheet.schema.json.

It is written from the model and never by hand: `python -m cuegen.sheet.schema`.
Dialect: JSON Schema 2020-12, as pydantic writes it.
"""

from __future__ import annotations

import json
from pathlib import Path

from cuegen.files import write_text
from cuegen.resources import shared_dir
from cuegen.schedule.cuesheet import CueSheet

REFRESH_COMMAND = "python -m cuegen.sheet.schema"


def schema_text() -> str:
    """Return the schema as it is published."""
    return json.dumps(CueSheet.model_json_schema(), indent=2, ensure_ascii=False) + "\n"


def schema_path() -> Path:
    return shared_dir() / "cue-sheet.schema.json"


if __name__ == "__main__":
    write_text(schema_path(), schema_text())
    print(schema_path())
