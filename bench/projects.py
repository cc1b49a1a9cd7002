"""Projects over the open catalogues of the reference material, written to a folder of one's own."""

import gzip
import os
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

PROJECT = """
[site]
base = "https://collections.example.org/"
name = {{en = "Bench"}}
publisher = "group/publisher"
[access]
default = "open"
"""
SOURCE = """
[[source]]
file = "{file}"
mapping = "builtin:{mapping}"
dated = "{dated}"
"""


@dataclass(frozen=True)
class Catalogue:
    """An open catalogue: its files below the reference folder, each with its shipped mapping."""

    name: str
    sources: tuple[tuple[str, str], ...]
    dated: str


def catalogues() -> list[Catalogue]:
    """The two open catalogues, whole. Their licence is CC0; the days are those of the snapshots."""
    return [
        Catalogue(
            "tate.jsonl.gz",
            (("tate.jsonl.gz", "tate-objects.yaml"), ("tate/artists.jsonl", "tate-artists.yaml")),
            "2020-10-28",
        ),
        Catalogue("cmoa.jsonl.gz", (("cmoa.jsonl.gz", "cmoa-jsonl.yaml"),), "2017-03-17"),
    ]


def reference() -> Path:
    """The folder of reference material; stops with a word where it is not named."""
    folder = os.environ.get("LODPIPE_REFERENCE", "")
    if not (Path(folder) / "data").is_dir():
        raise SystemExit("set LODPIPE_REFERENCE to the folder of the reference material")
    return Path(folder).resolve()


def write_project(folder: Path, catalogue: Catalogue, most: int | None = None) -> None:
    """Write a project whose sources are links to the catalogue, or its first records."""
    text = PROJECT
    for file, mapping in catalogue.sources:
        name = Path(file).name
        source = reference() / "data" / file
        if most is None:
            (folder / name).symlink_to(source)
        else:
            name = name.removesuffix(".gz")
            unpacked(source, folder / name, most)
        text += SOURCE.format(file=name, mapping=mapping, dated=catalogue.dated)
    (folder / "lodpipe.toml").write_text(text.format(), encoding="utf-8")


def unpacked(source: Path, target: Path, most: int | None = None) -> None:
    """Write a file as plain text, or its first lines."""
    opener = gzip.open if source.suffix == ".gz" else open
    with opener(source, "rb") as lines, target.open("wb") as out:
        out.writelines(islice(lines, most))
