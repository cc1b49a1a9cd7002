"""Writing the files of a project: new projects, lines of the ledger. Nothing else writes into one.

A line is appended, never changed: the ledger is a record of who said what, and when.
"""

import csv
import io
import os
import shutil
from collections.abc import Mapping, Sequence
from pathlib import Path

from lodpipe.errors import NotFinishedError, UsageError
from lodpipe.tables.files import encoding_of


def ledger_text(path: Path, columns: Sequence[str], values: Mapping[str, str]) -> str:
    """Return the text of a ledger with one line more; a new ledger when there is none.

    Args:
        path: the CSV file. `columns`: those of a new ledger, in order.
        values: by column; empty ones are left out.

    Raises:
        UsageError: the ledger is a spreadsheet, is not UTF-8, or lacks a column that is needed.
    """
    text = _read(path)
    header = next(csv.reader(io.StringIO(text)), []) if text else list(columns)
    names = [name.strip() for name in header]
    missing = [name for name, value in values.items() if value and name not in names]
    if missing:
        raise UsageError(
            f"`{path.name}` has no column `{missing[0]}`",
            hint="add the column to its header, then add the line again",
        )
    line = io.StringIO()
    writer = csv.writer(line, lineterminator=_line_end(text))
    if not text:
        writer.writerow(header)
    elif not text.endswith("\n"):
        line.write(_line_end(text))
    writer.writerow([values.get(name, "") for name in names])
    return text + line.getvalue()


def append_line(path: Path, columns: Sequence[str], values: Mapping[str, str]) -> None:
    """Append one line to a ledger, whole or not at all.

    Raises:
        UsageError: as `ledger_text`.
        NotFinishedError: the file cannot be written.
    """
    replace_file(path, ledger_text(path, columns, values))


def replace_file(path: Path, text: str) -> None:
    """Write a file of the project anew, whole or not at all.

    Raises:
        NotFinishedError: it cannot be written; it is as it was.
    """
    half = path.with_name(path.name + ".part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with half.open("w", encoding="utf-8", newline="") as handle:
            handle.write(text)
            handle.flush()
            os.fsync(handle.fileno())
        half.replace(path)
    except OSError as error:
        raise NotFinishedError(
            f"`{path.name}` cannot be written: {error.strerror}",
            hint="the file is as it was; mend the permissions or make room",
        ) from error


def new_project(
    folder: Path, files: Mapping[str, str], copies: Mapping[str, Path]
) -> tuple[str, ...]:
    """Write the files of a new project; none of them may be there yet.

    Args:
        folder: made where it is missing. `files`: path in it -> text.
        copies: path in it -> a file that is copied there, unless it lies there already.

    Returns:
        The paths that were written, in order.

    Raises:
        UsageError: one of them is there. NotFinishedError: the folder cannot be written.
    """
    there = [name for name in files if (folder / name).exists()]
    there += [
        name
        for name, source in copies.items()
        if (folder / name).exists() and not (folder / name).samefile(source)
    ]
    if there:
        raise UsageError(
            f"`{there[0]}` is there already, in `{folder.resolve().name}`",
            hint="name an empty folder: nothing of yours is written over",
        )
    try:
        for name, source in copies.items():
            if not (folder / name).exists():
                (folder / name).parent.mkdir(parents=True, exist_ok=True)
                shutil.copyfile(source, folder / name)
        for name, text in files.items():
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            (folder / name).write_text(text, encoding="utf-8", newline="")
    except OSError as error:
        raise NotFinishedError(
            f"`{folder.name}` cannot be written: {error.strerror}",
            hint="mend the permissions or make room, then begin again in an empty folder",
        ) from error
    return (*copies, *files)


def _read(path: Path) -> str:
    if path.with_suffix(".xlsx").is_file():
        raise UsageError(
            f"`{path.stem}` is a spreadsheet",
            hint=f"add the line there, or save it as `{path.name}`",
        )
    if not path.is_file():
        return ""
    raw = path.read_bytes()
    try:
        return raw.decode(encoding_of(raw[:4], "", path.name))
    except UnicodeDecodeError as error:
        raise UsageError(
            f"`{path.name}` is not UTF-8: byte {error.start + 1}", hint="save it as UTF-8"
        ) from error


def _line_end(text: str) -> str:
    return "\r\n" if "\r\n" in text else "\n"
