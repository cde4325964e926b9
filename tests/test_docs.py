"""README says what the code does: tables come from the tables, examples are run."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from cuegen.mix.formats import FORMATS
from cuegen.plan.fields import field_table
from cuegen.plan.reading import read_plan
from cuegen.script.kinds import CUE_KINDS
from cuegen.sheet.formats import FORMATS as SHEET_FORMATS
from cuegen.voice.table import VOICES

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_the_job_stands_first() -> None:
    first = README.split("\n\n")[1]
    assert first.startswith("cuegen turns a rowing session plan into a spoken coaching track")


def test_the_table_of_fields_is_that_of_the_code() -> None:
    assert field_table().strip() in README


def test_the_grammar_is_that_of_the_parser() -> None:
    """The EBNF is written once, in the head of the grammar file."""
    head = (ROOT / "cuegen/plan/notation.lark").read_text(encoding="utf-8")
    rules = [line[5:] for line in head.splitlines() if line.startswith("//   ")]
    assert len(rules) > 10
    assert "\n".join(rules) in README


@pytest.mark.parametrize("name", VOICES)
def test_every_voice_is_named(name: str) -> None:
    assert f"| `{name}" in README


@pytest.mark.parametrize("suffix", FORMATS)
def test_every_audio_format_is_named(suffix: str) -> None:
    assert f"`{suffix}`" in README


@pytest.mark.parametrize("suffix", [fmt.suffix for fmt in SHEET_FORMATS.values()])
def test_every_sheet_format_is_named(suffix: str) -> None:
    assert f"`{suffix}`" in README


@pytest.mark.parametrize("kind", [kind.value for kind, spec in CUE_KINDS.items() if spec.firm])
def test_every_firm_kind_is_named(kind: str) -> None:
    assert f"`{kind}`" in README


def test_every_plan_shown_can_be_read() -> None:
    plans = re.findall(r"```yaml\n(.*?)```", README, re.S)
    assert plans
    for plan in plans:
        assert read_plan(plan).segments


def test_every_example_that_is_named_is_there() -> None:
    named = re.findall(r"examples/[\w.-]*\w", README)
    assert named
    assert [name for name in named if not (ROOT / name).is_file()] == []


def test_the_map_names_every_folder() -> None:
    developers = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    folders = [path.name for path in (ROOT / "cuegen").iterdir() if (path / "__init__.py").exists()]
    assert [name for name in folders if f"`{name}/`" not in developers] == []


def test_every_dependency_is_accounted_for() -> None:
    """DEVELOPERS.md says why each one is there."""
    import tomllib

    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = project["dependencies"] + project["optional-dependencies"]["piper"]
    names = [re.match(r"[A-Za-z0-9-]+(\.[a-z]+)?", line).group() for line in wanted]  # type: ignore[union-attr]
    developers = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert [name for name in names if name not in developers] == []
