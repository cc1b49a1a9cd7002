"""The ledger: the append-only list of claims, and the rules that its lines keep.

What a single line says is read by `claims`; what lines say of one another is worked out by
`settle`, over all claims of a project, the written ones and those that mappings found.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import fields, replace
from hashlib import blake2b

from lodpipe.aspects import DATE, TEXT, Aspects
from lodpipe.errors import nearest
from lodpipe.evidence.cells import Cells
from lodpipe.evidence.columns import Folder
from lodpipe.findings import WARNING, Finding, Report
from lodpipe.records import Claim
from lodpipe.terms import Table

CURRENT, PROPOSED, FORMER, REJECTED = "current", "proposed", "former", "rejected"
STANDINGS = (CURRENT, PROPOSED, FORMER, REJECTED)
_GROUNDED = ("maker", "sitter")


def claims(folder: Folder, aspects: Aspects, qualifiers: Table) -> tuple[Claim, ...]:
    """Return the lines of `claims.csv` that can be used, keys as written; report the others."""
    found: list[Claim] = []
    seen: dict[str, Claim] = {}
    for record in folder.rows("claims"):
        cells = Cells(record, _about(record.data.get("about", ""), folder.report), "ledger")
        claim = _claim(cells, aspects, qualifiers)
        earlier = seen.setdefault(claim.key, claim) if claim.key else claim
        if earlier is not claim:
            cells.fault(
                f"the claim `{claim.key}` stands in an earlier line, {earlier.place}",
                "claim",
                "a new view of a claim is a new line with a key of its own and `replaces`",
            )
        if not cells.bad:
            found.append(claim)
    return tuple(found)


def _about(key: str, report: Report) -> Report:
    """Say of each fault of a line which thing it is about: that must not go out without the line."""
    return lambda finding: report(replace(finding, uri=key.strip()))


def _claim(cells: Cells, aspects: Aspects, qualifiers: Table) -> Claim:
    """Return the claim of a line; every fault of the line is told, and `cells.bad` says so."""
    cells.needed("aspect")
    aspect = cells.word("aspect", aspects.by_name)
    qualifier, standing, role = _qualifier(cells, qualifiers)
    role = _role(cells, aspects, qualifiers) or role
    sources, locators = _sources(cells)
    claim = Claim(
        key=cells.needed("claim"),
        about=cells.needed("about"),
        aspect=aspect,
        value=cells.text("value"),
        value_text=cells.text("value_text"),
        role=role,
        part=cells.text("part"),
        qualifier=qualifier,
        standing=cells.word("standing", STANDINGS, standing or CURRENT),
        by=cells.needed("by"),
        on=cells.text("on"),
        basis=cells.text("basis"),
        sources=sources,
        replaces=cells.text("replaces"),
        alternative_to=cells.text("alternative_to"),
        place=cells.place,
        locators=locators,
    )
    cells.edtf("on")
    claim = _value(claim, aspects.by_name[aspect].takes if aspect else (), cells)
    if aspect:
        _grounds(claim, aspects, cells)
    return replace(claim, effective=claim.standing)


def _role(cells: Cells, aspects: Aspects, qualifiers: Table) -> str:
    """Return the role of the line; report one of which nobody knows what it did to the thing."""
    role = " ".join(cells.text("role").lower().split())
    known = {line.get("role", "") for lines in qualifiers.lines.values() for line in lines}
    known.update(aspects.roles)
    if role and role not in known:
        cells.remark(
            f"`{cells.text('role')}` is not a role; it is kept in words, and the maker stands where "
            "the thing was made",
            "role",
            nearest(role, known) or "one of " + ", ".join(f"`{name}`" for name in aspects.roles),
            "unknown-word",
            WARNING,
        )
    return role


def _qualifier(cells: Cells, qualifiers: Table) -> tuple[str, str, str]:
    """Return our qualifier, standing and role for the term in the line."""
    term = cells.text("qualifier")
    if not term:
        return "", "", ""
    lines = qualifiers.get(term)
    if len(lines) == 1:
        line = lines[0]
        return line.get("qualifier", ""), line.get("standing", ""), line.get("role", "")
    known = [term for term, lines in qualifiers.lines.items() if len(lines) == 1]
    if lines:
        cells.fault(
            f"`{term}` means {len(lines)} claims",
            "qualifier",
            "write a line for each of them",
            "unknown-word",
        )
    else:
        cells.fault(
            f"`{term}` is not a qualifier",
            "qualifier",
            nearest(term.lower(), known)
            or "what no qualifier says belongs into `value_text`, with the standing `proposed`",
            "unknown-word",
        )
    return "", "", ""


def _sources(cells: Cells) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the keys of a line's sources and where in them: `diary-3, fol. 88; pay-book`."""
    pairs = [part.partition(",") for part in cells.keys("sources")]
    locators = [f", {where.strip()}" if where.strip() else "" for _, _, where in pairs]
    while locators and not locators[-1]:
        locators.pop()
    return tuple(key.strip() for key, _, _ in pairs), tuple(locators)


def _value(claim: Claim, takes: Collection[str], cells: Cells) -> Claim:
    if not claim.value and not claim.value_text:
        cells.fault("the line has neither `value` nor `value_text`", "value")
    elif DATE in takes and claim.value:
        date = cells.edtf("value")
        return replace(claim, value=str(date)) if date else claim
    elif TEXT in takes and claim.value:
        if claim.value_text:
            cells.fault(f"`{claim.aspect}` takes words only: `value_text`", "value")
        return replace(claim, value="", value_text=claim.value)
    return claim


def _grounds(claim: Claim, aspects: Aspects, cells: Cells) -> None:
    dated = DATE in aspects.by_name[claim.aspect].takes
    if (dated or claim.aspect in _GROUNDED) and not claim.basis and not claim.sources:
        cells.fault(
            f"the claim `{claim.key}` says neither on what grounds nor from which source",
            "basis",
            "fill in `basis` or `sources`",
            "no-grounds",
        )


def settle(lines: Sequence[Claim], aspects: Aspects, report: Report) -> tuple[Claim, ...]:
    """Return all claims of a project with their effective standing; report what clashes.

    Args:
        lines: resolved claims, the ledger's in their order, and those that mappings made.
        report: takes circles, unknown lines, lines replaced twice, clashes of one-aspects.
    """
    by_key = {line.key: line for line in lines}
    successor = _successors(lines, by_key, report)
    settled = [replace(line, effective=_effective(line, successor)) for line in lines]
    settled = _alternatives(settled, by_key, report)
    _report_clashes(settled, aspects, report)
    return tuple(settled)


def _successors(
    lines: Sequence[Claim], by_key: dict[str, Claim], report: Report
) -> dict[str, Claim]:
    """Return which line replaces which, without circles."""
    successor: dict[str, Claim] = {}
    for line in lines:
        old = line.replaces
        if not old:
            continue
        if old not in by_key:
            message = f"the line `{old}` that `{line.key}` replaces is not there"
            report(_fault(line, message, "replaces", nearest(old, by_key)))
        elif (other := by_key[old]).about != line.about or other.aspect != line.aspect:
            message = f"`{old}`, which `{line.key}` replaces, is about something else"
            hint = f"it is on the {other.aspect} of `{other.about}`"
            report(_fault(line, message, "replaces", hint))
        elif old in successor:
            message = f"`{line.key}` and `{successor[old].key}` both replace `{old}`"
            hint = f"let the later one replace `{successor[old].key}`"
            report(_fault(line, message, "replaces", hint))
        elif _leads_to(line.key, old, successor):
            message = f"the line `{line.key}` replaces itself"
            if old != line.key:
                message += f", by way of `{old}`"
            report(_fault(line, message, "replaces", "name an earlier line"))
        else:
            successor[old] = line
    return successor


def _leads_to(start: str, end: str, successor: dict[str, Claim]) -> bool:
    """Return whether the chain of replacements that begins at `start` comes to `end`."""
    key = start
    while key != end:
        if key not in successor:
            return False
        key = successor[key].key
    return True


def _effective(line: Claim, successor: dict[str, Claim]) -> str:
    """Return what holds of a line once later ones are known.

    A replaced line is `former`, unless the line that replaced it rejects it and still holds.
    """
    later = successor.get(line.key)
    if later is None:
        return line.standing
    still = _effective(later, successor) == later.standing
    return REJECTED if later.standing == REJECTED and still else FORMER


def _alternatives(lines: Sequence[Claim], by_key: dict[str, Claim], report: Report) -> list[Claim]:
    """Return the lines with `alternative_to` leading straight to the first claim of its set.

    The first may name itself. A line whose set cannot be found is a set of its own: what was
    given as one of several must not become certain by a slip of the pen.
    """
    kept = []
    for line in lines:
        first, seen = line.alternative_to, {line.key}
        while first in by_key and by_key[first].alternative_to not in ("", first):
            if first in seen:
                break
            seen.add(first)
            first = by_key[first].alternative_to
        message = ""
        if first and first not in by_key:
            message = f"the line `{first}` that `{line.key}` is an alternative to is not there"
        elif first in seen and first != line.alternative_to:
            message = f"`{line.key}` is an alternative to itself, by way of `{line.alternative_to}`"
        if message:
            report(_fault(line, message, "alternative_to", nearest(first, set(by_key) - seen)))
            first = line.key
        kept.append(line if first == line.alternative_to else replace(line, alternative_to=first))
    return kept


def sets_of(lines: Iterable[Claim]) -> dict[str, str]:
    """Return key of claim to key of the first claim of its set of alternatives, that one too."""
    found = {}
    for line in lines:
        if line.alternative_to:
            found[line.key] = found[line.alternative_to] = line.alternative_to
    return found


def certain(line: Claim, sets: dict[str, str]) -> bool:
    """Return whether a claim is current and certain: held now, without doubt or alternative."""
    return line.effective == CURRENT and not line.qualifier and line.key not in sets


def _report_clashes(lines: Sequence[Claim], aspects: Aspects, report: Report) -> None:
    """Report certain current claims of which a thing can have one only, and that differ."""
    sets = sets_of(lines)
    held: defaultdict[tuple[str, str, str], list[Claim]] = defaultdict(list)
    for line in lines:
        if aspects.by_name[line.aspect].one and certain(line, sets):
            held[line.about, line.aspect, line.part].append(line)
    for (_, aspect, _), several in held.items():
        first = several[0]
        for line in several[1:]:
            if (line.value, line.value_text) != (first.value, first.value_text):
                message = (
                    f"`{line.key}` and `{first.key}` are both current and certain, and a thing has "
                    f"one `{aspect}` only"
                )
                hint = "let one replace the other, qualify one, or make them alternatives"
                report(_fault(line, message, "standing", hint))


def compare(published: Iterable[Claim], lines: Iterable[Claim], report: Report) -> None:
    """Report ledger lines that an earlier release published and that were edited or taken out.

    Args:
        published: written lines as they were released, resolved. `lines`: as they stand now.
    """
    now = {line.key: line for line in lines if not line.mapped}
    for old in published:
        if old.mapped:
            continue
        new = now.get(old.key)
        if new is None:
            message = f"the published line `{old.key}` is no longer in the ledger"
            report(_fault(old, message, "claim", "put it back; what no longer holds is `replaced`"))
            continue
        if old.written and old.written == written(new):
            continue  # it went out without what it says of something withheld
        for column in _COLUMNS:
            if getattr(new, column) != getattr(old, column):
                message = f"`{column}` of the published line `{old.key}` was changed"
                hint = "put it back, and add a line that replaces it"
                report(_fault(new, message, column, hint))


_COLUMNS = tuple(
    field.name
    for field in fields(Claim)
    # where a line stands, what later lines made of it, how the facts behind it are worded today
    if field.name not in ("place", "effective", "mapped", "facts", "written")
)


def written(line: Claim) -> str:
    """Return a digest of what stands in a line, for one that does not go out as it stands."""
    values = [getattr(line, column) for column in _COLUMNS]
    return blake2b(repr(values).encode(), digest_size=16).hexdigest()


def _fault(line: Claim, message: str, column: str, hint: str) -> Finding:
    place = line.place.at(column) if line.place else None
    value = getattr(line, column, "")
    return Finding(
        "ledger",
        message,
        place,
        value=value if isinstance(value, str) else "; ".join(value),
        hint=hint,
        uri=line.about if ":" in line.about else "",
    )
