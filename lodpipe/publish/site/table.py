"""What is known of a document and how surely: one table of claims and of plain statements."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from lodpipe.aspects import slug
from lodpipe.publish.iiif.rows import edtf_of
from lodpipe.publish.site.desk import Desk, Link
from lodpipe.publish.site.reading import (
    DISPLAY_NAME,
    MAKING,
    UNIDENTIFIED,
    Act,
    Said,
    acts,
    has_type,
    listed,
    said_in,
    tag_of,
)
from lodpipe.records import Claim, Tree
from lodpipe.wording import (
    View,
    aspect_word,
    attribution_line,
    claim_words,
    fact_words,
    held_kind,
    held_words,
    nobody_known,
    role_word,
    short_words,
    verdict_words,
)

CATALOGUE = "catalogue"
NOBODY = "nobody"
"""Stands for the aspect where the catalogue names no photographer at all."""
_NAMED = frozenset({"who", "where", "party", "thing", "process", "about"})
"""What a fact of the evidence names."""
_RANKS = ("certain", CATALOGUE, "hedged", "alternative", "proposed", "former", "rejected")
"""What is held today stands first."""
_DATES = {"printing": "date_printed", "mounting": "date_mounted", "captioning": "date_captioned"}
_USED = {"printing": "printed_from", "pasting": "composed_of"}
_HEADS = ("maker", "date", "place", "process", "date_printed", "sitter", "depicts")
"""The aspects that a reader is told of before the table."""


@dataclass(frozen=True, slots=True)
class Ground:
    """One fact that a verdict rests on, with its sources."""

    text: str
    sources: tuple[Link, ...]


@dataclass(frozen=True, slots=True)
class Row:
    """One claim, or one plain statement of the catalogue, in words.

    Attributes:
        anchor: of the row in its page. `kind`: how it is held (`held_kind`, or `catalogue`).
        number: how a line of the ledger is called; claims that a mapping makes have none to tell.
        words: what is said, with its hedge; `held` how it is held today.
        value: the page of what it names. `short`: the value with its hedge, only of what is held.
        before: claims that this one replaces; `after`: those that replaced it.
    """

    kind: str
    words: str
    held: str
    anchor: str = ""
    key: str = ""
    number: str = ""
    value: str = ""
    short: str = ""
    by: Link | None = None
    day: str = ""
    basis: str = ""
    sources: tuple[Link, ...] = ()
    before: tuple[Link, ...] = ()
    after: tuple[Link, ...] = ()
    evidence: tuple[str, ...] = ()
    grounds: tuple[Ground, ...] = ()
    letter: str = ""
    view: View | None = None


@dataclass(frozen=True, slots=True)
class Group:
    """All that is said of one aspect of one node."""

    aspect: str
    node: str
    head: str
    rows: list[Row] = field(default_factory=list)

    @property
    def certain(self) -> bool:
        """Whether nothing that is held today is in doubt."""
        held = [row.kind for row in self.rows if row.kind not in ("former", "rejected")]
        return bool(held) and all(kind in ("certain", CATALOGUE) for kind in held)


def groups_of(uri: str, tree: Tree, desk: Desk) -> list[Group]:
    """Return the whole table of a document; of a thing with what is said of its pictures."""
    found: dict[tuple[str, str], Group] = {}
    documents = [tree]
    for node in tree.get("shows", ()):
        image = desk.catalogue.reader.get(node["id"])
        if image is not None:
            documents.append(image)
    for document in documents:
        lines = desk.catalogue.reader.claims(document["id"])
        said = said_in(document, lines)
        verdicts = desk.catalogue.reader.verdicts(document["id"]) if said else {}
        maker = _Maker(uri, desk, {one.claim.key: one for one in said}, verdicts)
        certain = {
            (one.node, one.claim.aspect, one.claim.value)
            for one in said
            if held_kind(one.claim, alternatives=one.alternatives) == "certain"
        }
        for act in acts(document):
            for aspect, value in _plain(act):
                if not _told(act.role, aspect, value, certain):
                    _group(found, aspect, act.role, desk).rows.append(maker.plain(aspect, value))
        for aspect, value in _seen(document):
            if ("record", aspect, value.get("id")) not in certain:
                _group(found, aspect, "record", desk).rows.append(maker.plain(aspect, value))
        for one in said:
            _group(found, one.claim.aspect, one.node, desk).rows.append(maker.claim(one))
    for group in found.values():
        group.rows.sort(key=lambda row: _RANKS.index(row.kind))
    return sorted(found.values(), key=_order)


@dataclass(frozen=True, slots=True)
class Short:
    """One line of what a reader asks for first, in words with their hedges."""

    aspect: str
    head: str
    text: str
    certain: bool


def in_short(groups: Sequence[Group], tree: Tree, desk: Desk) -> list[Short]:
    """Return what a reader asks for first: who, when, where, how."""
    lines = []
    for group in groups:
        if group.aspect == "maker":
            views = [row.view for row in group.rows if row.view]
            text = attribution_line(views, desk.language, node=group.node)
            # where all that was claimed is rejected, nobody is known
            text = text or nobody_known(desk.language, node=group.node)
        elif group.aspect in _HEADS:
            text = "; ".join(dict.fromkeys(row.short for row in group.rows if row.short))
        else:
            continue
        if text:
            lines.append(Short(group.aspect, group.head, text, group.certain))
    roles = [act.role for act in acts(tree)]
    made = {group.node for group in groups if group.aspect == "maker"}
    if "exposure" in roles and not made & {*MAKING}:
        head = aspect_word("maker", desk.language, node="exposure")
        lines.insert(0, Short(NOBODY, head, desk.word("not-recorded"), False))
    return lines


def _order(group: Group) -> tuple[int, int]:
    if group.node in MAKING:
        place = MAKING.index(group.node)
    else:
        place = 20 if group.node == "printing" else 30 if group.node == "record" else 40
    first = ("maker", "date", "place")
    return place, first.index(group.aspect) if group.aspect in first else 9


def _group(found: dict[tuple[str, str], Group], aspect: str, node: str, desk: Desk) -> Group:
    if aspect == "maker" and node == "production":
        node = next((role for of, role in found if of == "maker" and role in MAKING), node)
    head = aspect_word(aspect, desk.language, node=node)
    return found.setdefault((aspect, node), Group(aspect, node, head))


def _plain(act: Act) -> Iterator[tuple[str, Tree]]:
    """Yield what a node states plainly, with the aspect that a claim about it would have."""
    node, role = act.node, act.role
    for key, aspect in (
        ("carried_out_by", "maker"),
        ("timespan", _DATES.get(role, "date")),
        ("took_place_at", "place"),
        ("technique", "process"),
        ("used_specific_object", _USED.get(role, "copy_of")),
        ("influenced_by", "copy_of"),
    ):
        for value in listed(node.get(key)):
            if isinstance(value, dict):
                yield aspect, value


def _seen(tree: Tree) -> Iterator[tuple[str, Tree]]:
    for value in tree.get("represents", ()):
        yield ("sitter" if value.get("type") == "Person" else "depicts"), value
    for value in tree.get("represents_instance_of_type", ()):
        yield "depicts", value


def _told(role: str, aspect: str, value: Tree, certain: Iterable[tuple[str, str, str]]) -> bool:
    """Whether a certain claim states a value already; of a day there is one alone."""
    if aspect.startswith("date"):
        return any(node == role and of == aspect for node, of, _ in certain)
    return any(of == aspect and iri == value.get("id") for _, of, iri in certain)


class _Maker:
    """Makes the rows of one document."""

    def __init__(self, uri: str, desk: Desk, said: dict[str, Said], verdicts: Any) -> None:
        self.uri, self.desk, self.said, self.verdicts = uri, desk, said, verdicts
        self.title = desk.name(uri)
        self.replaced_by: dict[str, list[Said]] = {}
        for one in said.values():
            if one.claim.replaces:
                self.replaced_by.setdefault(one.claim.replaces, []).append(one)

    def words(self, one: Said) -> str:
        """Return what a claim says, with its hedge and its standing."""
        value = self.desk.value(one.claim)
        return claim_words(
            one.claim, value, self.desk.language, node=one.node, alternatives=one.alternatives
        )

    def claim(self, one: Said) -> Row:
        """Return the row of a claim."""
        claim, desk = one.claim, self.desk
        kind = held_kind(claim, alternatives=one.alternatives)
        value = desk.value(claim)
        older = self.said.get(claim.replaces)
        verdict = self.verdicts.get(claim.key)
        return Row(
            kind,
            self.words(one),
            held_words(kind, desk.language),
            anchor=f"claim-{claim.key}",
            key=claim.key,
            number="" if claim.mapped else desk.word("claim", key=claim.key),
            value=desk.href(claim.value) if claim.value else "",
            short=short_words(claim, value, desk.language, alternatives=one.alternatives),
            by=desk.link(claim.by) if claim.by else None,
            day=desk.date(claim.on),
            basis=claim.basis,
            sources=tuple(self._sources(claim)),
            before=(self._other(older),) if older else (),
            after=tuple(self._other(newer) for newer in self.replaced_by.get(claim.key, ())),
            evidence=tuple(verdict_words(claim, verdict, desk.language)) if verdict else (),
            grounds=tuple(self._grounds(verdict)) if verdict else (),
            letter=desk.letter(self.uri, self.title, claim.key),
            view=self._view(one, value, kind) if claim.aspect == "maker" else None,
        )

    def plain(self, aspect: str, value: Tree) -> Row:
        """Return the row of a plain statement of the catalogue."""
        desk = self.desk
        iri = value.get("id", "")
        if aspect.startswith("date"):
            text = self._when(value)
        else:
            text = desk.name(iri) if iri else str(value.get("_label", ""))
            if iri not in desk.catalogue.entries:
                text = str(value.get("_label") or text)
        key = iri.removeprefix(desk.settings.base)
        known = not key.startswith(UNIDENTIFIED)
        return Row(
            CATALOGUE,
            text,
            held_words(CATALOGUE, desk.language),
            value=desk.href(iri) if iri else "",
            short=text,
            view=View(text, known=known) if aspect == "maker" else None,
        )

    def _view(self, one: Said, value: str, kind: str) -> View:
        claim, language = one.claim, self.desk.language
        key = claim.value.removeprefix(self.desk.settings.base)
        if claim.role and claim.role not in ("photographer", "maker") and one.node in MAKING:
            role = role_word(claim.role, language)
            if aspect_word("maker", language, node=one.node).lower() != role.lower():
                value = f"{value} ({role})"
        apart = (claim.alternative_to or claim.key) if kind == "alternative" else ""
        known = not key.startswith(UNIDENTIFIED)
        return View(value, slug(claim.qualifier), claim.effective, apart, known)

    def _when(self, span: Tree) -> str:
        """Return a time span in words: its own name in this language, else those of its EDTF."""
        desk = self.desk
        for name in span.get("identified_by", ()):
            if has_type(name, DISPLAY_NAME) and tag_of(name, desk.settings.tags) == desk.language:
                return str(name["content"])
        return desk.date(edtf_of(span))

    def _sources(self, claim: Claim) -> Iterator[Link]:
        locators = [*claim.locators, *[""] * len(claim.sources)]
        for source, locator in zip(claim.sources, locators, strict=False):
            link = self.desk.link(source)
            if locator.startswith(","):
                yield Link(link.text + locator, link.href, link.language)
            else:
                yield Link(locator or link.text, link.href, "" if locator else link.language)

    def _other(self, one: Said) -> Link:
        return Link(self.words(one), f"#claim-{one.claim.key}")

    def _grounds(self, verdict: Any) -> Iterator[Ground]:
        desk = self.desk
        known = desk.catalogue.entries
        for fact in verdict.get("grounds", ()):
            named = (value for key, value in fact.items() if key in _NAMED)
            if not all(uri in known for uri in named):
                continue  # what has no document in this release is not named
            if fact["kind"] == "claim":
                about = desk.link(fact["about"], f"claim-{fact['claim']}")
                sources: tuple[Link, ...] = (Link(fact["claim"], about.href),)
            else:
                sources = tuple(desk.link(uri) for uri in fact["sources"] if uri in known)
            yield Ground(fact_words(fact, desk.name, desk.language), sources)
