"""What a project leaves open: columns and terms that are still marked `to decide`."""

from collections.abc import Iterator

from lodpipe.errors import TermError
from lodpipe.findings import Finding
from lodpipe.pipeline.workshop import VOCAB, Workshop
from lodpipe.profile.draft import UNDECIDED
from lodpipe.project import BUILTIN
from lodpipe.records import Place
from lodpipe.terms import read_table


def undecided(shop: Workshop) -> Iterator[Finding]:
    """Yield one finding for each mapping and each table of terms that waits for a decision."""
    for name in sorted({source.mapping for source in shop.sources()}):
        if name.startswith(BUILTIN):
            continue
        left = [path for path, why in shop.mapping(name).reasons.items() if _is_open(why)]
        if left:
            yield Finding(
                "undecided",
                f"left out until somebody decides: {_first(left)}",
                Place(name),
                hint="read them under `fields`, or write under `dropped` why they are left out",
            )
    for path in sorted((shop.project.folder / VOCAB).glob("*.csv")):
        if path.name == "concepts.csv":
            continue
        try:
            table = read_table(path.stem, path)
        except TermError:
            continue  # told where a mapping uses it
        rows = [line for lines in table.lines.values() for line in lines]
        waiting = [
            line
            for line in rows
            if _is_open(line.get("source", "")) and not line.get("concept") and not line.get("iri")
        ]
        if waiting:
            yield Finding(
                "undecided",
                "terms without a concept: "
                + _first([line[table.columns[0]] for line in waiting], len(rows)),
                Place((VOCAB / path.name).as_posix()),
                hint="fill in `concept` or `iri`, or write under `source` why there is none",
            )


def _first(names: list[str], total: int = 0) -> str:
    """`Shelf`, and 3 more; of how many, where that is known."""
    more = f", and {len(names) - 1} more" if len(names) > 1 else ""
    return f"`{names[0]}`{more}" + (f" of {total}" if total else "")


def _is_open(reason: str) -> bool:
    return reason.strip().startswith(UNDECIDED)
