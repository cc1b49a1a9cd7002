"""How things are printed: tables and bars by rich, plain where nobody watches."""

import sys
import textwrap
from collections.abc import Iterable, Sequence
from typing import Any

import orjson
from rich.console import Console
from rich.progress import (
    BarColumn,
    MofNCompleteColumn,
    Progress,
    SpinnerColumn,
    TaskID,
    TextColumn,
    TimeElapsedColumn,
)
from rich.table import Table
from rich.text import Text

from lodpipe.findings import Finding

OUT = Console(highlight=False, soft_wrap=True, width=None if sys.stdout.isatty() else 200)
TALK = Console(stderr=True, highlight=False, soft_wrap=True)


class Bars:
    """Draws a bar for each stage on stderr; draws nothing when stderr is not a terminal."""

    def __init__(self) -> None:
        self._progress = Progress(
            SpinnerColumn(),
            TextColumn("{task.description:<28}"),
            BarColumn(bar_width=30),
            MofNCompleteColumn(),
            TimeElapsedColumn(),
            console=TALK,
            disable=not TALK.is_terminal,
        )
        self._task: TaskID | None = None

    def __enter__(self) -> "Bars":
        self._progress.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._progress.stop()

    def start(self, stage: str, total: int | None) -> None:
        """Begin a bar."""
        self._task = self._progress.add_task(stage, total=total)

    def advance(self, steps: int) -> None:
        """Move the bar on."""
        if self._task is not None:
            self._progress.advance(self._task, steps)

    def end(self) -> None:
        """Fill the bar."""
        if self._task is not None:
            task = self._progress.tasks[-1]
            self._progress.update(
                self._task, total=task.completed or 1, completed=task.completed or 1
            )


def data(value: Any) -> None:
    """Print a value as JSON on stdout."""
    sys.stdout.buffer.write(
        orjson.dumps(value, option=orjson.OPT_INDENT_2 | orjson.OPT_APPEND_NEWLINE)
    )
    sys.stdout.buffer.flush()


def line(value: Any) -> None:
    """Print a value as one line of JSON on stdout."""
    sys.stdout.buffer.write(orjson.dumps(value, option=orjson.OPT_APPEND_NEWLINE))
    sys.stdout.buffer.flush()


def say(text: str = "") -> None:
    """Print a line of talk on stderr."""
    TALK.print(Text(_fitted(text, TALK)))


def tell(text: str = "") -> None:
    """Print a line that was asked for on stdout."""
    OUT.print(Text(_fitted(text, OUT)))


def _fitted(text: str, console: Console) -> str:
    """Break lines that are longer than a terminal is wide; what a program reads stays whole."""
    if not console.is_terminal:
        return text
    return "\n".join(_broken(line, console.width) for line in text.split("\n"))


def _broken(line: str, width: int) -> str:
    """Break a line at its spaces; what is one long word moves left until it fits."""
    if len(line) <= width:
        return line
    words = line.lstrip(" ")
    room = max(width - max(map(len, words.split(" "))), 0)
    further = min(2, room)
    indent = " " * min(len(line) - len(words), room - further)
    return textwrap.fill(
        words,
        width,
        initial_indent=indent,
        subsequent_indent=indent + " " * further,
        break_long_words=False,
        break_on_hyphens=False,
    )


def table(headers: Sequence[str], rows: Iterable[Sequence[str]], *, title: str = "") -> None:
    """Print a table on stdout; markup in values is not read."""
    made = Table(box=None, title=title or None, title_justify="left", pad_edge=False)
    for header in headers:
        made.add_column(header, overflow="fold")
    for row in rows:
        made.add_row(*(Text(cell) for cell in row))
    OUT.print(made)


def finding(found: Finding) -> str:
    """Return a finding as a few lines: what, where, what to do."""
    lines = [f"{found.severity}[{found.code}]: {found.message}"]
    if found.place:
        lines.append(f"  --> {found.place}")
    if found.uri:
        lines.append(f"  in  {found.uri}{found.path}")
    if found.hint:
        lines.append(f"  hint: {found.hint}")
    return "\n".join(lines)


def finding_data(found: Finding) -> dict[str, Any]:
    """Return a finding as plain values for `--json`."""
    place = found.place
    return {
        "code": found.code,
        "severity": found.severity,
        "message": found.message,
        "value": found.value,
        "hint": found.hint,
        "uri": found.uri,
        "path": found.path,
        "rule": found.rule,
        "place": None
        if place is None
        else {
            "file": place.file,
            "sheet": place.sheet,
            "line": place.line,
            "record": place.record,
            "column": place.column,
        },
    }
