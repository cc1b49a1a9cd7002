"""What every pass of a run needs, made once from the project: tables, nodes, policy, mappings."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from lodpipe import evidence, project, read, terms
from lodpipe import mapping as mappings
from lodpipe.aspects import builtin_aspects
from lodpipe.assemble import Speaker
from lodpipe.dates import Policy
from lodpipe.errors import LodpipeError, ManyErrors, TermError, UsageError, nearest
from lodpipe.evidence.columns import FILES
from lodpipe.findings import Report
from lodpipe.nodes import Nodes
from lodpipe.project import Project, Source
from lodpipe.read import Share
from lodpipe.records import Record, Unreadable

VOCAB = Path("mappings") / "vocab"
CONCEPTS = VOCAB / "concepts.csv"
"""Concepts of the project's own."""
WHOLE = Share()

EVIDENCE_SOURCES = {"people": "people.yaml", "places": "places.yaml", "sources": "sources.yaml"}
"""Evidence files whose rows also make documents, each with the shipped mapping that makes them."""


@dataclass(slots=True)
class Workshop:
    """The tools of a run. Made anew in each worker: nothing in it is sent between processes."""

    project: Project
    concepts: terms.Concepts
    nodes: Nodes
    policy: Policy
    _mappings: dict[str, mappings.Mapping] = field(default_factory=dict)
    _tables: dict[str, terms.Table] = field(default_factory=dict)
    _used: dict[str, set[str]] = field(default_factory=dict)

    def table(self, name: str) -> terms.Table:
        """Return a table of terms: the shipped one, with the lines of the project's own over it.

        Raises:
            TermError: there is no table of this name.
        """
        if name not in self._tables:
            self._tables[name] = _table(self.project.folder, name)
        return self._tables[name]

    def evidence(self, report: Report) -> evidence.Loaded:
        """Read the evidence folder of the project; all its faults go to `report`."""
        folder = self.project.evidence.folder
        return evidence.load(
            self.project.folder / folder,
            folder,
            aspects=builtin_aspects(),
            qualifiers=self.table("qualifiers"),
            limits=self.project.limits,
            report=report,
        )

    def sources(self) -> list[Source]:
        """Return the sources of the project and the evidence files that make documents too."""
        found = list(self.project.sources)
        folder = Path(self.project.evidence.folder)
        for name, shipped in EVIDENCE_SOURCES.items():
            for ending in (".csv", ".xlsx"):
                if (self.project.folder / folder / (name + ending)).is_file():
                    found.append(
                        Source(
                            file=(folder / (name + ending)).as_posix(),
                            mapping=project.BUILTIN + shipped,
                        )
                    )
        return found

    def mapping(self, name: str) -> mappings.Mapping:
        """Return a compiled mapping by the name that `lodpipe.toml` gives it."""
        if name not in self._mappings:
            used = self._used[name] = set[str]()

            def table(asked: str) -> terms.Table:
                used.add(asked)
                return self.table(asked)

            self._mappings[name] = mappings.load(
                self.project.path(name),
                name,
                nodes=self.nodes,
                tables=table,
                policy=self.policy,
                circa_years=self.project.dates.circa_years,
                limits=self.project.limits,
            )
        return self._mappings[name]

    def terms_of(self, name: str) -> list[Path]:
        """Return the project's own tables of terms and concepts that a mapping looks into."""
        self.mapping(name)
        wanted = (
            self.project.folder / VOCAB / f"{table}.csv" for table in sorted(self._used[name])
        )
        own = (self.project.folder / CONCEPTS, *wanted)
        return [path for path in own if path.is_file()]

    def check_mappings(self) -> None:
        """Compile every mapping; all faults of all of them in one ManyErrors."""
        faults: list[LodpipeError] = []
        for source in self.sources():
            try:
                chosen = self.mapping(source.mapping)
            except ManyErrors as errors:
                faults.extend(errors.errors)
                continue
            if chosen.has_claims and not source.dated:
                faults.append(
                    UsageError(
                        f"the mapping `{source.mapping}` makes claims, but nothing says of what day they are",
                        hint='add `dated = "2024-03-11"`, the day of the export, to this `[[source]]`',
                        where=f"{project.PROJECT_FILE} [[source]] {source.file}",
                    )
                )
        if faults:
            raise ManyErrors(faults)

    def context(self, source: Source, report: Report) -> mappings.SourceContext:
        """Return what a mapping has to know of its source: rank, speaker, day, joined rows.

        Raises:
            UsageError: the mapping joins a file that the source does not name.
        """
        columns = self.mapping(source.mapping).joins
        for name in columns:
            if name not in source.joins:
                raise UsageError(
                    f"the mapping joins `{name}`, but its source names no such file",
                    hint=nearest(name, source.joins)
                    or f'add `joins = {{{name} = "..."}}` to this `[[source]]`',
                    where=f"{project.PROJECT_FILE} [[source]] {source.file}",
                )
        joins = {
            name: mappings.joined(self._rows(source.joins[name], report), by)
            for name, by in columns.items()
        }
        return mappings.SourceContext(
            source=source.file,
            rank=source.rank,
            by=source.by or self.project.site.publisher,
            dated=source.dated,
            joins=joins,
        )

    def _rows(self, file: str, report: Report) -> Iterator[Record]:
        for item in self.read(Source(file=file, mapping=""), report):
            if isinstance(item, Record):
                yield item
            else:
                report(read.unreadable_finding(item))

    def read(
        self, source: Source, report: Report, share: Share = WHOLE, *, unparsed: bool = False
    ) -> Iterator[Record | Unreadable]:
        """Open a source and return the records of a share, and what could not be read of it.

        Args:
            unparsed: records need not be read further than to tell that one has changed.
        """
        reads = self.mapping(source.mapping).reads if source.mapping else mappings.Reads()
        options = read.ReadOptions(
            format=source.format,
            encoding=source.encoding,
            delimiter=source.delimiter,
            sheet=source.sheet or reads.sheet,
            records=source.records or reads.records,
            namespaces=reads.namespaces or {},
            text_columns=reads.text_columns,
            share=share,
            unparsed=unparsed,
        )
        path = self.project.folder / source.file
        records = read.records(path, source.file, options, self.project.limits, report)
        for name, shipped in EVIDENCE_SOURCES.items():
            if source.mapping == project.BUILTIN + shipped:
                return _whole(records, FILES[name].names)
        return records


def _whole(
    records: Iterable[Record | Unreadable], columns: tuple[str, ...]
) -> Iterator[Record | Unreadable]:
    """Give every column to rows of evidence: columns that are not needed may be left out there."""
    for item in records:
        if isinstance(item, Record):
            for column in columns:
                item.data.setdefault(column, "")
        yield item


def open_workshop(chosen: Project) -> Workshop:
    """Return the workshop of a project; UsageError or TermError when a table cannot be used."""
    own = chosen.folder / CONCEPTS
    concepts = terms.concepts(*([own] if own.is_file() else []))
    dates = chosen.dates
    policy = Policy(
        **{
            name: value
            for name in dates.__struct_fields__
            if name != "circa_years" and (value := getattr(dates, name)) is not None
        }
    )
    first, *further = chosen.site.languages
    nodes = Nodes(chosen.site.base, concepts, first, further)
    return Workshop(chosen, concepts, nodes, policy)


def speakers_of(shop: Workshop) -> dict[str, Speaker]:
    """Return who speaks in each source: the one that it names, or the publisher."""
    site = shop.project.site
    found = {"": Speaker(site.base + site.publisher)}
    for source in shop.sources():
        by = source.by or site.publisher
        found[source.file] = Speaker(by if ":" in by else site.base + by, source.dated)
    return found


def _table(folder: Path, name: str) -> terms.Table:
    paths = [
        place / f"{name}.csv" for place in (project.builtin("mappings") / "vocab", folder / VOCAB)
    ]
    found = [path for path in paths if path.is_file()]
    if not found:
        known = [path.stem for place in paths for path in place.parent.glob("*.csv")]
        raise TermError(
            f"there is no table `{name}`",
            hint=nearest(name, known) or f"put it at {(VOCAB / name).as_posix()}.csv",
        )
    return terms.read_table(name, *found)
