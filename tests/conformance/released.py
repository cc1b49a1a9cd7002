"""Whole runs of the demo and of three open catalogues, made once for all tests that look at them."""

import random
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import orjson
import zstandard
from conformance.referees import BASE

from lodpipe import pipeline, project
from lodpipe.archive import Archive
from lodpipe.pipeline.progress import Silent

REPOSITORY = Path(__file__).parent.parent.parent
NOW = "2026-01-31T10:00:00Z"
HEAD = f"""
[site]
base = "{BASE}"
name = {{en = "Open catalogue"}}
[access]
default = "open"
[check]
most_losses = "1 %"
"""
CATALOGUES = {
    # CC0 data sets, see the READMEs beside them: name -> sources with their mapping, day of the data
    "cmoa-csv": ([("cmoa/objects-derived.csv", "cmoa-csv.yaml")], "2017-03-17"),
    "tate": (
        [("tate/objects.jsonl", "tate-objects.yaml"), ("tate/artists.jsonl", "tate-artists.yaml")],
        "2020-10-28",
    ),
    "nga": (
        [("edge/nga-attributions/objects_historical_data.csv", "nga-history.yaml")],
        "2025",  # the data do not tell their day; the newest remarks are of 2024
    ),
}


@dataclass
class Released:
    """A project after its run: what the run said, and everything that it published."""

    name: str
    folder: Path
    result: pipeline.Result

    def documents(self) -> Iterator[dict[str, Any]]:
        """Yield every published document, in IRI order."""
        with Archive(self.folder / "archive" / "archive.sqlite") as archive:
            for document in archive.documents(self.result.latest):
                yield orjson.loads(document.body)

    @cached_property
    def sample(self) -> list[dict[str, Any]]:
        """All documents of the demo, 500 of a catalogue: the same ones each time."""
        every = list(self.documents())
        if self.name == "demo":
            return every
        return random.Random(500).sample(every, 500)

    @cached_property
    def quads(self) -> list[str]:
        """The lines of the N-Quads dump."""
        raw = (self.folder / "export" / "nquads.nq.zst").read_bytes()
        reader = zstandard.ZstdDecompressor().stream_reader(raw, read_across_frames=True)
        return reader.read().decode().splitlines()


def demo(folder: Path) -> Released:
    """Run the demo project in a folder of its own."""
    sample = REPOSITORY / "sample"
    for path in sorted(sample.rglob("*")):
        name = path.relative_to(sample)
        if name.parts[0] in ("archive", "export"):
            continue
        if path.is_dir():
            (folder / name).mkdir()
        else:
            (folder / name).write_bytes(path.read_bytes())
    return _run("demo", folder)


def catalogue(name: str, reference: Path, folder: Path) -> Released:
    """Run an open catalogue through the mapping that ships for it."""
    sources, dated = CATALOGUES[name]
    text = HEAD
    for file, mapping in sources:
        (folder / Path(file).name).symlink_to((reference / "data" / file).resolve())
        text += (
            f'[[source]]\nfile = "{Path(file).name}"\nmapping = "builtin:{mapping}"\n'
            f'dated = "{dated}"\n'
        )
    (folder / "lodpipe.toml").write_text(text, encoding="utf-8")
    return _run(name, folder)


def _run(name: str, folder: Path) -> Released:
    options = pipeline.Options(now=NOW)
    return Released(name, folder, pipeline.run(project.load(folder), options, Silent()))
