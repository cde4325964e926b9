"""The list of lines to record: as CSV, to read from (text) or as Markdown; the CSV comes back.

Conventions
    A list that lies in the folder of takes as LIST_NAME is that folder's memory: it says
    which number means which words, also for lines that are said no more. So the
    numbers of files stay right when the plan is edited and the list is written again.

    Cells are guarded as those of a sheet are (cuegen.cells).
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from cuegen.cells import guard, unguard
from cuegen.errors import TakeError, Where
from cuegen.sheet.wording import one_line
from cuegen.takes.lines import TakeLine
from cuegen.takes.names import take_name, words_key

LIST_NAME = "lines.csv"
"""What a list is called in the folder of takes."""

COLUMNS = ("number", "take", "words", "longest_s", "about_s", "times", "at", "cues", "state")
_MOST_SHOWN = 4


class State(StrEnum):
    RECORDED = "recorded"
    MISSING = "missing"
    CHANGED = "changed"
    GONE = "no longer said"


@dataclass(frozen=True, slots=True)
class Standing:
    """A line and whether it is recorded. was: the words of the take of which it is an edit."""

    line: TakeLine
    state: State
    was: str = ""

    @property
    def state_words(self) -> str:
        return f"{self.state}, was: {self.was}" if self.was else self.state.value


@dataclass(frozen=True, slots=True)
class Listed:
    """A row of a list that was written before."""

    number: int
    text: str
    cues: tuple[str, ...] = ()

    @property
    def key(self) -> str:
        return words_key(self.text)


def numbers_of(listed: Iterable[Listed]) -> dict[str, int]:
    """Return the number of each line of a list, by the key of its words."""
    return {row.key: row.number for row in listed}


def to_csv(standings: Sequence[Standing], before: Sequence[Listed] = ()) -> str:
    """Return the list as CSV. before: rows of the list that it takes the place of."""
    out = io.StringIO()
    rows = csv.writer(out, lineterminator="\r\n")
    rows.writerow(COLUMNS)
    for standing in standings:
        line = standing.line
        lengths = (seconds(line.longest_ms), seconds(line.about_ms))
        where = (str(len(line.at)), guard("; ".join(line.at)), guard("; ".join(line.cues)))
        names = (str(line.number), line.name, guard(line.text))
        rows.writerow((*names, *lengths, *where, guard(standing.state_words)))
    said = {standing.line.key for standing in standings}
    for row in before:
        if row.key not in said:
            gone = (str(row.number), take_name(row.text), guard(row.text), "", "", "0", "")
            rows.writerow((*gone, guard("; ".join(row.cues)), State.GONE.value))
    return out.getvalue()


def from_csv(text: str, file: str | None = None) -> tuple[Listed, ...]:
    """Return the rows of a list. Raises TakeError with the row that cannot be read."""
    reader = csv.DictReader(io.StringIO(text, newline=""))
    if not {"number", "words"} <= set(reader.fieldnames or ()):
        raise TakeError(
            "this is no list of lines to record: it has no columns `number` and `words`",
            where=Where(file, 1),
            remedy="Write it again: cuegen takes list PLAN --out FILE.csv",
        )
    return tuple(_listed(row, Where(file, reader.line_num)) for row in reader)


def _listed(row: Mapping[str, str | None], where: Where) -> Listed:
    number, words = row.get("number") or "", unguard(row.get("words") or "")
    if not (number.isascii() and number.isdigit() and 0 < int(number[:9]) < 10_000):
        raise TakeError(
            "a line's number is a whole number from 1 to 9999",
            where=Where(where.file, where.line, 1, number),
            remedy="Leave the column `number` as it was written.",
        )
    if not words_key(words):
        raise TakeError(
            "this row has no words",
            where=Where(where.file, where.line, 3, words),
            remedy="Leave the column `words` as it was written, or take the row out.",
        )
    cues = unguard(row.get("cues") or "").split("; ")
    return Listed(int(number), words, tuple(cue for cue in cues if cue))


def to_text(standings: Sequence[Standing], title: str) -> str:
    """Return the list as something to read from, a line at a time."""
    return "\n".join([f"{one_line(title)}: lines to record", "", *_HOW_TO, "", *_rows(standings)])


def to_markdown(standings: Sequence[Standing], title: str) -> str:
    """Return the list as Markdown."""
    head = "| | words | at most | about | at | take | |\n|---|---|---|---|---|---|---|"
    rows = [
        f"| {line.number} | {_cell(line.text)} | {seconds(line.longest_ms)} s "
        f"| {seconds(line.about_ms)} s | {_cell(times_text(line))} | `{line.name}` "
        f"| {_cell(standing.state_words)} |"
        for standing in standings
        for line in (standing.line,)
    ]
    how = "\n".join(_HOW_TO)
    return (
        f"# {_cell(one_line(title))}: lines to record\n\n{how}\n\n{head}\n" + "\n".join(rows) + "\n"
    )


_HOW_TO = (
    "Read the lines in order with a second of quiet between them, in one recording",
    "(then: cuegen takes cut), or one file a line, named by its number or its name.",
    "Misread? Say the line again: the later one is taken.",
)


def _rows(standings: Sequence[Standing]) -> Iterable[str]:
    for standing in standings:
        line = standing.line
        yield f"{line.number:4}  {line.text}"
        room = f"at most {seconds(line.longest_ms)} s, about {seconds(line.about_ms)} s"
        yield f"      {line.name}; {room}; at {times_text(line)}; {standing.state_words}"
        yield ""


def times_text(line: TakeLine) -> str:
    """Return when a line is said, the first few times."""
    shown = ", ".join(line.at[:_MOST_SHOWN])
    more = len(line.at) - _MOST_SHOWN
    return f"{shown} and {more} more" if more > 0 else shown


def seconds(length_ms: int) -> str:
    """Return a length in seconds, rounded down, so that what is promised is there."""
    return f"{length_ms // 100 / 10:.1f}"


def _cell(text: str) -> str:
    return text.replace("\\", "\\\\").replace("|", "\\|").replace("<", "\\<").replace("*", "\\*")
