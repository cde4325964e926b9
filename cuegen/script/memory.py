"""What was heard in earlier sessions of a block, so that nothing is said twice too soon.

A block keeps one small file beside its plans. It lists its sessions in the order of
their weeks with the words of their floating cues; a session that is made again takes
its old place, so that the same plan with the same file always gives the same sheet.
Each rower of a personal track has a line of sessions of their own.

Conventions
    Texts are kept as `cuegen.script.picker.same_words` gives them. Pure: the caller
    reads and writes the file. The format is JSON with a version.
"""

from __future__ import annotations

import json
import re

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from cuegen.errors import MemoryFileError, Where
from cuegen.script.picker import same_words

MEMORY_VERSION = 1
SESSIONS_APART = 4
"""A wording comes again in the fourth session after the one it was heard in, at the soonest."""

MOST_LETTERS = 48
"""Of a block's name in that of its file: a file system takes 255 bytes, a letter up to four."""


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class HeardSession(_Frozen):
    """One session with the words heard in it. rower: empty for a group's track."""

    week: int = Field(ge=1)
    title: str
    rower: str = ""
    words: tuple[str, ...] = ()

    @property
    def key(self) -> tuple[int, str, str]:
        return self.week, self.title, self.rower


class Memory(_Frozen):
    """The sessions of a block, in order of weeks, then as they were first made."""

    version: int = MEMORY_VERSION
    block: str
    sessions: tuple[HeardSession, ...] = ()


def heard_before(memory: Memory, week: int, title: str, rower: str | None) -> frozenset[str]:
    """Return the words of the sessions before that one, as far back as they may not come again."""
    line = [s for s in memory.sessions if s.rower == (rower or "")]
    own = (week, title, rower or "")
    before: list[HeardSession] = []
    for session in line:
        if session.key == own or session.week > week:
            break
        before.append(session)
    recent = before[-(SESSIONS_APART - 1) :]
    return frozenset(words for session in recent for words in session.words)


def remembered(memory: Memory, session: HeardSession) -> Memory:
    """Return the memory with a session in its old place, or else after those of its week."""
    sessions = list(memory.sessions)
    for number, other in enumerate(sessions):
        if other.key == session.key:
            sessions[number] = session
            return memory.model_copy(update={"sessions": tuple(sessions)})
    sessions.append(session)
    sessions.sort(key=lambda each: each.week)  # stable: within a week, as they came
    return memory.model_copy(update={"sessions": tuple(sessions)})


def heard_session(week: int, title: str, rower: str | None, texts: list[str]) -> HeardSession:
    """Return a session with the words of its floating cues."""
    words = tuple(dict.fromkeys(same_words(text) for text in texts))
    return HeardSession(week=week, title=title, rower=rower or "", words=words)


def forgotten(memory: Memory, rower: str) -> Memory:
    """Return the memory without the sessions of one rower, whatever the name's capitals."""
    key = " ".join(rower.split()).casefold()
    kept = (s for s in memory.sessions if " ".join(s.rower.split()).casefold() != key)
    return memory.model_copy(update={"sessions": tuple(kept)})


def file_name(block: str) -> str:
    """Return what the memory of a block is called: "autumn-base.heard.json"."""
    words = "-".join(re.findall(r"[^\W_]+", block.casefold()))
    stem = words[:MOST_LETTERS].rstrip("-") or "block"
    return f"{stem}.heard.json"


def memory_of(text: str, file: str, block: str | None = None) -> Memory:
    """Return the memory of a file's text; block: whose it must be. Raises MemoryFileError."""
    version = _version_of(text)  # looked at first: a newer one may have fields of its own
    if version > MEMORY_VERSION:
        raise MemoryFileError(
            f"this memory is of version {version}, made by a newer cuegen",
            where=Where(file=file),
            remedy="Update cuegen, or delete the file to begin anew.",
        )
    try:
        memory = Memory.model_validate_json(text)
    except ValidationError as bad:
        first = bad.errors()[0]
        place = ".".join(str(part) for part in first["loc"])
        raise MemoryFileError(
            f"this is no memory of a block: {f'{place}: ' if place else ''}{first['msg']}",
            where=Where(file=file),
            remedy="Delete it to begin the block's memory anew.",
        ) from None
    if block not in (None, memory.block):
        raise MemoryFileError(
            f"this is the memory of the block {memory.block!r}, not of {block!r}",
            where=Where(file=file),
            remedy="Give the two blocks names that differ in more than signs, "
            "or keep their plans in two folders.",
        )
    return memory


def _version_of(text: str) -> int:
    """Return the version that a file names, 0 where it names none."""
    try:
        found = json.loads(text)
    except ValueError:
        return 0
    version = found.get("version") if isinstance(found, dict) else None
    return version if isinstance(version, int) else 0


def memory_text(memory: Memory) -> str:
    """Return a memory as its file has it."""
    return json.dumps(memory.model_dump(), indent=1, ensure_ascii=False) + "\n"
