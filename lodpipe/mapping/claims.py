"""Claims and layout rows: what a mapping makes beside documents."""

from collections.abc import Callable
from dataclasses import dataclass
from hashlib import blake2b
from typing import Any
from urllib.parse import unquote

from lodpipe.errors import nearest
from lodpipe.iris import key_of
from lodpipe.mapping import language
from lodpipe.mapping.compiler import Compiler
from lodpipe.mapping.lookups import Lookup, compile_lookup
from lodpipe.mapping.spaces import DATE, Ref, Run, Scope, Space
from lodpipe.mapping.template import Templates
from lodpipe.mapping.texts import Text, compile_text, constant_text
from lodpipe.mapping.uris import Uri, compile_uri
from lodpipe.mapping.when import Condition, compile_when
from lodpipe.mapping.yaml_nodes import Node
from lodpipe.records import Claim, LayoutRow, Place

_TEXTS = ("value_text", "role", "part", "standing", "on", "basis", "replaces", "alternative_to")
_NAMES = ("name", "full_name", "label", "title")
_SAFE = frozenset("abcdefghijklmnopqrstuvwxyz0123456789.-_")

Counts = dict[tuple[str, ...], int]
MakeClaims = Callable[[Scope, Run, Counts, list[Claim]], None]
MakeRows = Callable[[Scope, Run, list[LayoutRow]], None]


@dataclass(slots=True)
class _Entry:
    """One entry of `claims`, compiled."""

    about: Uri
    aspect: str
    value: Uri | Text | None
    verbatim: Callable[[Scope], str]
    texts: dict[str, Text]
    by: Uri | None
    sources: list[Uri]
    qualifier: Lookup | None
    certain: str
    spoken: Callable[[Scope], str]
    base: str


def compile_claim(
    node: Node, space: Space, compiler: Compiler, templates: Templates
) -> MakeClaims | None:
    """Return what makes the claims of one entry; None after a fault."""
    if not node.is_map or not compiler.known_keys(node, language.CLAIM, "a claim"):
        if not node.is_map:
            compiler.faults.add(node, "a claim is not a mapping", "{about: ..., aspect: ...}")
        return None
    loop = _loop(node, space, compiler, templates)
    if loop is None:
        return None
    elements, inside, condition = loop
    entry = _entry(node, inside, compiler)
    if entry is None:
        return None

    def make(scope: Scope, run: Run, counts: Counts, out: list[Claim]) -> None:
        for element in elements(scope):
            if condition is None or condition(element):
                _make(entry, element, run, counts, out)

    return make


def _loop(
    node: Node, space: Space, compiler: Compiler, templates: Templates
) -> tuple[Callable[[Scope], Any], Space, Condition | None] | None:
    """Return the elements that an entry goes over, the space of each, and its condition."""
    elements: Callable[[Scope], Any] = lambda scope: (scope,)  # noqa: E731
    inside = space
    if "each" in node.value:
        found = templates.elements(node.value["each"], space)
        if found is None:
            return None
        elements, inside = found[0].value(), found[1]
    condition = compile_when(node.value["when"], inside, compiler) if "when" in node.value else None
    return elements, inside, condition


def _entry(node: Node, space: Space, compiler: Compiler) -> _Entry | None:
    faults = compiler.faults
    for key in ("about", "aspect"):
        if key not in node.value:
            faults.add(node, f"the claim has no `{key}`")
    if "value" not in node.value and "value_text" not in node.value:
        faults.add(node, "the claim has neither `value` nor `value_text`")
    about = compile_uri(node.value["about"], space, compiler) if "about" in node.value else None
    aspect = compiler.text(node.get("aspect"), "`aspect`")
    aspects = _known("aspect/", compiler)
    if aspect and aspect not in aspects:
        faults.add(node.value["aspect"], f"`{aspect}` is not an aspect", nearest(aspect, aspects))
    texts: dict[str, Text] = {}
    for key in _TEXTS:
        if key in node.value:
            text = compile_text(node.value[key], space, compiler)
            if text is not None:
                texts[key] = text
    standing = texts.get("standing")
    if standing is not None and standing.constant is not None:
        compiler.one_of(node.value["standing"], language.STANDINGS, "a standing")
    value = _value(node.get("value"), aspect, space, compiler)
    by = compile_uri(node.value["by"], space, compiler) if "by" in node.value else None
    listed = node.get("sources")
    items = [] if listed is None else listed.value if listed.is_list else [listed]
    sources = [compile_uri(item, space, compiler) for item in items]
    qualifier, certain = _qualifier(node.get("qualifier"), space, compiler)
    if about is None or None in sources or ("value" in node.value and value is None):
        return None
    return _Entry(
        about,
        aspect,
        value,
        _verbatim(value),
        texts,
        by,
        [s for s in sources if s is not None],
        qualifier,
        certain,
        _spoken(space) if qualifier is not None else _nobody,
        compiler.base,
    )


def _value(node: Node | None, aspect: str, space: Space, compiler: Compiler) -> Uri | Text | None:
    """A date for the aspects that take one, words for titles, else the IRI of a document."""
    if node is None:
        return None
    if aspect in language.TEXT_ASPECTS:
        return compile_text(node, space, compiler)
    if aspect not in language.DATE_ASPECTS:
        return compile_uri(node, space, compiler)
    text = compile_text(node, space, compiler)
    if text is None or text.only is None or text.only.field.kind != DATE:
        return text
    get = text.only.value()

    def edtf(scope: Scope, run: Run) -> str:
        date = get(scope)
        return date.edtf.text if date is not None and date.edtf is not None else ""

    return Text(None, edtf, text.make, text.only)


def _verbatim(value: Uri | Text | None) -> Callable[[Scope], str]:
    """Return what gives the words of a date that could not be read: they are kept."""
    if isinstance(value, Text) and value.only is not None and value.only.field.kind == DATE:
        return value.only.text()
    return _nobody


def _known(prefix: str, compiler: Compiler) -> list[str]:
    return [
        concept.term.removeprefix(prefix)
        for concept in compiler.nodes.concepts
        if concept.term.startswith(prefix)
    ]


def _qualifier(node: Node | None, space: Space, compiler: Compiler) -> tuple[Lookup | None, str]:
    if node is None:
        return None, ""
    if node.is_map:
        if "lookup" not in node.value:
            compiler.known_keys(node, language.LOOKUP_KEYS, "a lookup")
            return None, ""
        column = Node("qualifier", node.line, node.column)
        full = Node({**node.value, "column": column}, node.line, node.column, node.keys)
        return compile_lookup(full, space, compiler), ""
    word = compiler.text(node, "`qualifier`").strip().replace(" ", "-")
    known = _known("qualifier/", compiler)
    if word and word not in known:
        compiler.faults.add(node, f"`{word}` is not a qualifier", nearest(word, known))
    return None, word


def _spoken(space: Space) -> Callable[[Scope], str]:
    """Return what gives the name of the value in the source's words, for a claim without a key."""
    for name in _NAMES:
        found = space.fields.get(name)
        if found is not None and not found.element:
            found.used = True
            return Ref(found, 0).text()
    return _nobody


def _nobody(scope: Scope) -> str:
    return ""


# --- making -------------------------------------------------------------------------------


def _make(entry: _Entry, scope: Scope, run: Run, counts: Counts, out: list[Claim]) -> None:
    about = entry.about.get(scope, run)
    if about is None:
        return
    value = entry.value.get(scope, run) or "" if entry.value is not None else ""
    texts = {key: text.get(scope, run) for key, text in entry.texts.items()}
    words = texts.pop("value_text", "") or ("" if value else entry.verbatim(scope))
    if entry.aspect in language.TEXT_ASPECTS:
        value, words = "", words or value
    if not value and not words:
        return
    lines: tuple[dict[str, str], ...] = ({"qualifier": entry.certain},)
    said = ""
    if entry.qualifier is not None:
        said = entry.qualifier.ref.text()(scope)
        lines = entry.qualifier.lines(scope, run) or (lines if not said else ())
    for line in lines:
        _line(entry, scope, run, counts, out, (about, str(value), words, said), texts, line)


def _line(
    entry: _Entry,
    scope: Scope,
    run: Run,
    counts: Counts,
    out: list[Claim],
    found: tuple[str, str, str, str],
    texts: dict[str, str],
    line: dict[str, str],
) -> None:
    about, value, words, said = found
    qualifier = line.get("qualifier", "").replace(" ", "-")
    standing = texts.get("standing") or line.get("standing") or "current"
    role = texts.get("role") or line.get("role", "")
    if said and not qualifier and standing == "proposed":
        words = words or f"{said} {entry.spoken(scope) or unquote(value.rpartition('/')[2])}"
        value = ""
    elif value:
        words = ""
    equal = (about, entry.aspect, role, value or words)
    position = counts[equal] = counts.get(equal, 0) + 1
    context = run.context
    by = entry.by.get(scope, run) if entry.by is not None else ""
    out.append(
        Claim(
            key=claim_key(entry.base, run.key, equal, position),
            about=about,
            aspect=entry.aspect,
            value=value,
            value_text=words,
            role=role,
            part=texts.get("part", ""),
            qualifier=qualifier,
            standing=standing,
            by=by or absolute(context.by, entry.base),
            on=texts.get("on") or context.dated,
            basis=_basis(texts.get("basis", ""), said, run),
            sources=tuple(s for s in (u.get(scope, run) for u in entry.sources) if s),
            replaces=texts.get("replaces", ""),
            alternative_to=texts.get("alternative_to", ""),
            effective=standing,
            mapped=True,
            place=_place(entry, scope, run),
        )
    )


def _place(entry: _Entry, scope: Scope, run: Run) -> Place:
    """Where the doubt stands, else the record or element."""
    if entry.qualifier is None:
        return run.place(scope, "")
    ref = entry.qualifier.ref
    where = ref.scope()(scope)
    return run.place(where, ref.field.column_in(where))


def _basis(own: str, said: str, run: Run) -> str:
    """The record is the source of what it says: its file and key, and the words it uses."""
    file = run.context.source.rpartition("/")[2] or run.origin.file.rpartition("/")[2]
    record = f"{file}, record {run.key}" if file else f"record {run.key}"
    if own:
        return f"{own} ({record})"
    return f"{record}: “{said}”" if said else record


def absolute(path: str, base: str) -> str:
    """Return the IRI of a path under base; an IRI stays what it is, nothing stays nothing."""
    return path if not path or ":" in path else base + path


def claim_key(base: str, record: str, equal: tuple[str, ...], position: int) -> str:
    """Return the key of a mapped claim: readable, stable, safe in an IRI.

    It depends on the record's key, on thing, aspect, role and value, and on the position among
    claims that are equal in all of these; not on the order of anything else.

    >>> claim_key("https://c.example/", "HRL 12", ("https://c.example/object/12", "maker", "", "x"), 1)
    'm-hrl-12-maker-9fd41ed8a6'
    """
    about, aspect, role, value = equal
    parts = (record, key_of(base, about) or about, aspect, role, key_of(base, value) or value)
    digest = blake2b("\x1f".join((*parts, str(position))).encode(), digest_size=5).hexdigest()
    slug = "".join(c if c in _SAFE else "-" for c in record.lower()).strip("-.")
    while "--" in slug:
        slug = slug.replace("--", "-")
    if len(slug) > 40:
        slug = slug[-40:].partition("-")[2] or slug[-40:]
    return f"m-{slug}-{aspect}-{digest}" if slug else f"m-{aspect}-{digest}"


# --- layout -------------------------------------------------------------------------------


def compile_layout(
    node: Node, space: Space, compiler: Compiler, templates: Templates
) -> MakeRows | None:
    """Return what makes the layout rows of one entry; None after a fault."""
    faults = compiler.faults
    if not node.is_map:
        faults.add(node, "a layout entry is not a mapping", "{file: images, thing: ...}")
        return None
    file = compiler.one_of(node.get("file"), language.LAYOUT_COLUMNS, "a layout file")
    if not file:
        if "file" not in node.value:
            faults.add(node, "the entry does not name its `file`", "images, layout or threads")
        return None
    names = {("path" if c == "file" else c): c for c in language.LAYOUT_COLUMNS[file]}
    if not compiler.known_keys(node, (*language.LAYOUT, *names), f"a row of {file}.csv"):
        return None
    for key in language.LAYOUT_MUST[file]:
        if key not in node.value:
            faults.add(node, f"the row has no `{key}`")
    loop = _loop(node, space, compiler, templates)
    if loop is None:
        return None
    elements, inside, condition = loop
    cells: list[tuple[str, Uri | Text]] = []
    for key, column in names.items():
        if key in node.value:
            uri = key in language.LAYOUT_URIS
            made = (compile_uri if uri else compile_text)(node.value[key], inside, compiler)
            if made is None:
                return None
            cells.append((column, made))
    must = language.LAYOUT_MUST[file]
    worth = [column for column, cell in cells if column not in must and cell.constant is None]

    def make(scope: Scope, run: Run, out: list[LayoutRow]) -> None:
        for element in elements(scope):
            if condition is not None and not condition(element):
                continue
            row = {column: str(cell.get(element, run) or "") for column, cell in cells}
            if all(row[c] for c in must) and (not worth or any(row[c] for c in worth)):
                out.append(
                    LayoutRow(file, {c: t for c, t in row.items() if t}, run.place(element, ""))
                )

    return make


__all__ = ["claim_key", "compile_claim", "compile_layout", "constant_text"]
