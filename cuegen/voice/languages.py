"""The languages of the small voice, read from the voice files of the espeakng-loader wheel.

Conventions
    A voice file states one or more language tags, each with a priority (a lower
    number is preferred, 5 where none stands: eSpeak NG's documentation of voice
    files). A voice is named by its place under lang/, `gmw/de`: that is the only
    form which the engine accepted for every file (measured).
"""

from __future__ import annotations

from functools import cache
from importlib import util
from pathlib import Path

from cuegen.errors import VoiceError
from cuegen.plan.nearest import offer

_DEFAULT_PRIORITY = 5

_PREFERRED = {"en": "gmw/en-US"}
"""English without a country is American, since the aligner and the other voices are."""


def espeak_voice(language: str) -> str:
    """Return the eSpeak NG voice of a language tag. Raises VoiceError with the nearest tag.

    A country that is not known, `de-at`, falls back on the language alone.
    """
    known = espeak_languages()
    for tag in (language, language.partition("-")[0]):
        if tag in known:
            return known[tag]
    raise VoiceError(
        f"the voice 'small' does not know the language {language!r}",
        remedy=offer(language, sorted(known)),
    )


@cache
def espeak_languages() -> dict[str, str]:
    """Return each language tag with the voice that serves it best."""
    best: dict[str, tuple[int, str]] = {}
    folder = espeak_data_dir() / "lang"
    for path in sorted(folder.rglob("*")):
        if path.is_file():
            voice = path.relative_to(folder).as_posix()
            for tag, priority in _tags(path):
                best[tag] = min(best.get(tag, (priority, voice)), (priority, voice))
    return {tag: voice for tag, (_, voice) in best.items()} | _PREFERRED


def espeak_data_dir() -> Path:
    """Return the data folder of the espeakng-loader wheel, without importing the wheel."""
    found = util.find_spec("espeakng_loader")
    if found is None or found.origin is None:
        raise VoiceError(
            "the voice 'small' needs the package espeakng-loader, which is not installed",
            remedy="Install it: pip install 'cuegen'",
        )
    return Path(found.origin).parent / "espeak-ng-data"


def _tags(path: Path) -> list[tuple[str, int]]:
    tags = []
    for line in path.read_text(encoding="utf-8", errors="replace").splitlines():
        words = line.split()
        if len(words) > 1 and words[0] == "language":
            priority = int(words[2]) if words[2:] and words[2].isdigit() else _DEFAULT_PRIORITY
            tags.append((words[1].lower(), priority))
    return tags
