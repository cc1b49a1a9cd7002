"""A release into a store of triples: one named graph a document; later only what changed.

What the store has stands in the store itself, in a small graph of its own named `BASE/release`:
so it is true also of a store that somebody emptied or put back. Documents go in the order of
their IRIs, some at a time; a query then counts what the store holds of each, and only after that
the mark moves on. Whatever ends the transfer, the same command goes on behind the mark.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from lodpipe import __version__
from lodpipe.archive import DOCUMENTS, Archive, Harvest, Slice
from lodpipe.errors import NotFinishedError, UsageError
from lodpipe.export.graph_store import GraphStore
from lodpipe.iris import document_iri
from lodpipe.project import Project
from lodpipe.publish import nquads
from lodpipe.rdf.text import quoted
from lodpipe.terms import Concepts

AT_A_TIME = 100
"""Documents between two marks; a query that counts them names them all."""
NAMED = 5
"""How many documents a message names."""
TOOL = f"lodpipe {__version__}"
DC = "http://purl.org/dc/elements/1.1/"


@dataclass(frozen=True, slots=True)
class Mark:
    """How far a store is: a release, the instant at which it was made, and by what it was written.

    `last` is the last document that the store has of it; empty for all of them.
    """

    release: int = 0
    created: str = ""
    tool: str = ""
    last: str = ""


@dataclass(slots=True)
class Stored:
    """What a transfer did: the release before (0 for none), graphs sent and taken away, all."""

    release: int
    since: int
    resumed: bool = False
    sent: int = 0
    deleted: int = 0
    documents: int = 0


def store(
    project: Project,
    concepts: Concepts,
    target: GraphStore,
    *,
    whole: bool = False,
    begin: Callable[[int], None] = lambda due: None,
    advance: Callable[[int], None] = lambda steps: None,
) -> Stored:
    """Bring a store to the newest release.

    Args:
        whole: send every document, whatever the store says that it has.
        begin, advance: told how many documents are to be sent or taken away, and of each.

    Raises:
        UsageError: no release, or the store refuses.
        NotFinishedError: it cannot be reached, or holds something else than was sent.
    """
    with Archive(project.archive) as archive:
        latest = archive.latest()
        if latest is None:
            raise UsageError("there is no release yet", hint="make one with `lodpipe run`")
        transfer = _Transfer(
            archive,
            target,
            nquads.Writer(project.site.base, concepts, project.language),
            project.site.base,
            Mark(latest.number, latest.created, TOOL),
        )
        return transfer.run(whole, begin, advance)


@dataclass(slots=True)
class _Transfer:
    archive: Archive
    target: GraphStore
    writer: nquads.Writer
    base: str
    goal: Mark

    def run(
        self, whole: bool, begin: Callable[[int], None], advance: Callable[[int], None]
    ) -> Stored:
        """Send what is due behind the marks, some documents at a time."""
        held, underway = (Mark(), Mark()) if whole else self._marks()
        if not self._is_known(held):
            held = Mark()
        after = underway.last if replace(underway, last="") == self.goal else ""
        done = Stored(self.goal.release, held.release, resumed=bool(after))
        due = [uri for uri in self._due(held.release) if uri > after]
        begin(len(due))
        for start in range(0, len(due), AT_A_TIME):
            some = due[start : start + AT_A_TIME]
            self._send(some, done, advance)
            self._put_marks(held, replace(self.goal, last=some[-1]))
        done.documents = self.archive.count(self.goal.release)
        self._hold_against(done.documents)
        if held != self.goal:
            self._put_marks(self.goal)
        return done

    def _is_known(self, mark: Mark) -> bool:
        """Whether a mark is of a release of this archive, written as we would write it now."""
        known = {one.number: one.created for one in self.archive.releases()}
        return known.get(mark.release) == mark.created and mark.tool == TOOL

    def _due(self, since: int) -> list[str]:
        """Return the documents that came, changed or went after a release, in the order of IRIs."""
        harvest = Harvest(self.archive)
        changed = Slice(DOCUMENTS, self.goal.release, since + 1, bodies=False)
        due = set(harvest.claimed_anew(since))
        after = (0, "")
        while some := harvest.some(changed, after, most=1_000):
            due.update(one.uri for one in some)
            after = (some[-1].release, some[-1].uri)
        return sorted(due)

    def _send(self, uris: Sequence[str], done: Stored, advance: Callable[[int], None]) -> None:
        """Send or take away some documents, and count what the store then holds of each."""
        wanted = {}
        for uri in uris:
            document = self.archive.document(uri, self.goal.release)
            if document is None:
                self.target.delete(uri)
                done.deleted += 1
            else:
                claims = (claim for _, claim in self.archive.claims(self.goal.release, uri))
                lines = self.writer.triples(document.body, nquads.premises_of(claims))
                self.target.put(uri, _bytes(lines))
                wanted[uri] = len(lines)
                done.sent += 1
            advance(1)
        found = self._counts(uris)
        wrong = [uri for uri in uris if found.get(uri, 0) != wanted.get(uri, 0)]
        if wrong:
            uri = wrong[0]
            raise NotFinishedError(
                f"the store holds {found.get(uri, 0)} triples of `{uri}`, sent were {wanted.get(uri, 0)}"
                + (f"; {len(wrong) - 1} more are wrong" if wrong[1:] else ""),
                hint="look into the log of the store; the same command sends them again",
            )

    def _counts(self, uris: Iterable[str]) -> dict[str, int]:
        rows = self.target.select(
            "SELECT ?g (COUNT(*) AS ?n) WHERE { VALUES ?g { "
            + " ".join(f"<{uri}>" for uri in uris)
            + " } GRAPH ?g { ?s ?p ?o } } GROUP BY ?g"
        )
        return {row["g"]: int(row["n"]) for row in rows if "g" in row}

    def _hold_against(self, documents: int) -> None:
        """Hold the number of documents in the store against that of the release."""
        # a graph of a document says of which class the thing is whose name it has
        ours = f"GRAPH ?g {{ ?g a ?class }} FILTER(STRSTARTS(STR(?g), {quoted(self.base)}))"
        (row,) = self.target.select(f"SELECT (COUNT(DISTINCT ?g) AS ?n) WHERE {{ {ours} }}")
        found = int(row["n"])
        if found == documents:
            return
        rows = self.target.select(f"SELECT DISTINCT ?g WHERE {{ {ours} }} LIMIT {documents + 100}")
        strange = sorted(
            row["g"] for row in rows if not self.archive.holds(row["g"], self.goal.release)
        )
        names = ", ".join(f"`{uri}`" for uri in strange[:NAMED])
        raise NotFinishedError(
            f"the store holds {found} documents below `{self.base}`, the release {documents}"
            + (f"; not of the release are {names}" if names else ""),
            hint="take away what is not of the release"
            if names
            else "send everything again with `--all`",
        )

    def _marks(self) -> tuple[Mark, Mark]:
        """Return what the store says it has: a release, and one that is on its way."""
        rows = self.target.select(
            f"SELECT ?s ?p ?o WHERE {{ GRAPH <{self._graph}> {{ ?s ?p ?o }} }}"
        )
        told = {(row["s"], row["p"].removeprefix(DC)): row["o"] for row in rows}
        held, underway = (
            Mark(
                int(number) if (number := told.get((name, "identifier"), "")).isdigit() else 0,
                told.get((name, "date"), ""),
                told.get((name, "creator"), ""),
                told.get((name, "relation"), ""),
            )
            for name in (self._graph, self._graph + "#next")
        )
        return held, underway

    def _put_marks(self, held: Mark, underway: Mark | None = None) -> None:
        lines = list(_mark_lines(self._graph, held)) if held.release else []
        if underway:
            lines += _mark_lines(self._graph + "#next", underway)
        self.target.put(self._graph, _bytes(lines))

    @property
    def _graph(self) -> str:
        return document_iri(self.base, "release")


def _mark_lines(name: str, mark: Mark) -> Iterator[str]:
    values = {
        "identifier": str(mark.release),
        "date": mark.created,
        "creator": mark.tool,
        "relation": mark.last,
    }
    for key, value in values.items():
        if value:
            yield f"<{name}> <{DC}{key}> {quoted(value)} ."


def _bytes(lines: Iterable[str]) -> bytes:
    return "".join(f"{line}\n" for line in lines).encode()
