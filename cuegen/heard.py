"""What a block has said before: its memory file, read and written.

It lies beside the block's file (`cuegen.script.memory` has its name and its form). A sheet
is remembered once it is handed out; compiling alone notes nothing.
"""

from __future__ import annotations

from pathlib import Path

from cuegen.errors import MemoryFileError
from cuegen.files import read_text, write_text
from cuegen.plan.model import Session
from cuegen.schedule.cuesheet import CueSheet
from cuegen.script.memory import (
    Memory,
    file_name,
    forgotten,
    heard_before,
    heard_session,
    memory_of,
    memory_text,
    remembered,
)


def heard_in_block(
    session: Session, rower: str | None, memory: Memory | None = None
) -> frozenset[str]:
    """Return the words that a session's floating cues may not repeat.

    memory: what was heard, by default as the file beside the session's plan has it.
    """
    folder, block = _folder(session), session.block
    if block is None:
        return frozenset()
    if memory is None and folder is not None:
        memory = _read(folder / file_name(block.name), block.name)
    if memory is None:
        return frozenset()
    return heard_before(memory, block.week, session.title, rower)


def remember_sheet(sheet: CueSheet, folder: Path) -> Path | None:
    """Note what a sheet says in its block's memory, a file in that folder; None without a block."""
    if sheet.block is None:
        return None
    path = folder / file_name(sheet.block.name)
    memory = _read(path, sheet.block.name) or Memory(block=sheet.block.name)
    texts = [cue.text for cue in sheet.cues if not cue.firm]
    heard = heard_session(sheet.block.week, sheet.title, sheet.rower, texts)
    write_text(path, memory_text(remembered(memory, heard)))
    return path


def forget_heard(path: Path, rower: str) -> None:
    """Take what a rower heard out of a block's memory file; a missing one has nothing."""
    memory = _read(path)
    if memory is not None:
        write_text(path, memory_text(forgotten(memory, rower)))


def _folder(session: Session) -> Path | None:
    """Return the folder of a session's plan, None where it came from no file."""
    return Path(session.where.file).parent if session.where.file else None


def _read(path: Path, block: str | None = None) -> Memory | None:
    if not path.exists():
        return None
    return memory_of(read_text(path, MemoryFileError, "memory of a block"), str(path), block)
