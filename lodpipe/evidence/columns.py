"""The files of the evidence folder: which columns each has, and its rows with their places."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from lodpipe.errors import UsageError, nearest
from lodpipe.findings import Finding, Report
from lodpipe.project import Limits
from lodpipe.records import Place, Record, Unreadable
from lodpipe.tables import csv_rows, sheet_rows

ENDINGS = (".csv", ".xlsx")


@dataclass(frozen=True, slots=True)
class Columns:
    """The columns of one file: those that it must have, others, and those that hold numbers."""

    must: tuple[str, ...]
    may: tuple[str, ...] = ()
    numbers: frozenset[str] = frozenset()

    @property
    def names(self) -> tuple[str, ...]:
        """Return all columns."""
        return self.must + self.may


def _columns(must: str, may: str = "", numbers: str = "") -> Columns:
    return Columns(tuple(must.split()), tuple(may.split()), frozenset(numbers.split()))


FILES: dict[str, Columns] = {
    "claims": _columns(
        "claim about aspect by",
        "role value value_text part qualifier standing on basis sources replaces alternative_to",
    ),
    "people": _columns("key name", "kind born died active sources born_sources died_sources notes"),
    "membership": _columns("who party", "when sources"),
    "whereabouts": _columns("who place when", "key presence event sources note"),
    "places": _columns(
        "key name", "former_names within near latitude longitude sources", "latitude longitude"
    ),
    "things": _columns("thing exists", "sources"),
    "processes": _columns(
        "process", "from to region sources width height tolerance", "width height tolerance"
    ),
    "order": _columns("before after", "min_days max_days sources", "min_days max_days"),
    "sources": _columns("key citation", "kind date url withdrawn"),
    "images": _columns("thing", "file service side capture"),
    "layout": _columns("thing on", "order side region capture", "order"),
    "threads": _columns("thread thing", "order region language text", "order"),
    "access": _columns(
        "key access", "kind notice authority public_reason internal_reason decided review_on"
    ),
    "notices": _columns("notice language text", "authority contact"),
    "withdrawals": _columns("key", "kind reason by on review_on public_reason"),
    "lifted": _columns("key", "reason by on"),
    "renamed": _columns("old new"),
}


class Folder:
    """The evidence folder of a project.

    Args:
        path: the folder; it need not exist. `name`: its path relative to the project.
        limits: what one row may cost. `report`: takes what is wrong with files and rows.
    """

    def __init__(self, path: Path, name: str, limits: Limits, report: Report) -> None:
        self.path, self.name, self.limits, self.report = path, name, limits, report

    def report_unknown_files(self) -> None:
        """Report tables that lie in the folder and that nothing reads."""
        if not self.path.is_dir():
            return
        for file in sorted(self.path.iterdir()):
            if file.suffix.lower() in ENDINGS and file.stem not in FILES:
                self.report(
                    Finding(
                        "unknown-file",
                        f"nothing reads `{file.name}`",
                        Place(f"{self.name}/{file.name}"),
                        hint=nearest(file.stem, FILES) or "the files are " + ", ".join(FILES),
                    )
                )

    def rows(self, stem: str) -> Iterator[Record]:
        """Yield the rows of one file that can be read; report the others, and unknown columns.

        Raises:
            UsageError: it is there as CSV and as XLSX, or it cannot be read at all.
        """
        found = [self.path / (stem + ending) for ending in ENDINGS]
        found = [file for file in found if file.is_file()]
        if len(found) > 1:
            raise UsageError(
                f"`{self.name}` holds both `{stem}.csv` and `{stem}.xlsx`", hint="keep one of them"
            )
        if not found:
            return
        name = f"{self.name}/{found[0].name}"
        first = True
        for item in self._read(found[0], name, FILES[stem]):
            if isinstance(item, Unreadable):
                self.report(Finding(item.code, item.reason, item.place, hint=item.hint))
                continue
            if first:
                first = False
                if not self._check_columns(item, FILES[stem]):
                    return
            yield item

    def _read(self, path: Path, name: str, columns: Columns) -> Iterator[Record | Unreadable]:
        field_chars, record_chars = self.limits.field_chars, self.limits.record_chars
        if path.suffix == ".csv":
            return csv_rows(
                path, name, field_chars=field_chars, record_chars=record_chars, report=self.report
            )
        return sheet_rows(
            path,
            name,
            text_columns=frozenset(columns.names) - columns.numbers,
            field_chars=field_chars,
            record_chars=record_chars,
            report=self.report,
        )

    def _check_columns(self, row: Record, columns: Columns) -> bool:
        place = Place(row.origin.file, 0, 0, row.origin.sheet)
        for column in row.data:
            if column not in columns.names:
                self.report(
                    Finding(
                        "column",
                        f"`{column}` is not a column of this file",
                        place,
                        value=column,
                        hint=nearest(column, columns.names)
                        or "its columns are " + ", ".join(columns.names),
                    )
                )
        missing = [column for column in columns.must if column not in row.data]
        for column in missing:
            self.report(
                Finding(
                    "column",
                    f"the column `{column}` is missing, so the file is not used",
                    place,
                    value=column,
                    hint=nearest(column, row.data) or f"add a column `{column}`",
                )
            )
        return not missing
