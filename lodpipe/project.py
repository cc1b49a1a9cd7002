"""A project: the folder with `lodpipe.toml`, read and checked as a whole.

Every fault of the file is reported in one run, each with the nearest right word. Nothing is
guessed: what must be declared and is not stops the run (exit status 2).
"""

import re
import tomllib
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import msgspec

from lodpipe.dates import parse
from lodpipe.errors import DateError, LodpipeError, ManyErrors, UsageError, nearest
from lodpipe.settings import (
    OUTPUTS,
    Access,
    Check,
    Dates,
    Evidence,
    Export,
    Limits,
    Oai,
    Site,
    Source,
)

__all__ = [
    "BUILTIN",
    "OUTPUTS",
    "PROJECT_FILE",
    "Access",
    "Check",
    "Dates",
    "Evidence",
    "Export",
    "Limits",
    "Oai",
    "Project",
    "Site",
    "Source",
    "builtin",
    "load",
]

PROJECT_FILE = "lodpipe.toml"
GATES = ("violation", "warning")
BUILTIN = "builtin:"


class _File(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    site: Site
    access: Access
    source: tuple[Source, ...] = ()
    evidence: Evidence = Evidence()
    check: Check = Check()
    dates: Dates = Dates()
    limits: Limits = Limits()
    export: Export = Export()
    oai: Oai = Oai()


class Project(msgspec.Struct, frozen=True, kw_only=True):
    """A project as a whole: its folder and everything that `lodpipe.toml` says."""

    folder: Path
    site: Site
    sources: tuple[Source, ...]
    evidence: Evidence
    check: Check
    access: Access
    dates: Dates
    limits: Limits
    export: Export
    oai: Oai

    @property
    def archive(self) -> Path:
        """The one file that holds every release."""
        return self.folder / "archive" / "archive.sqlite"

    @property
    def work(self) -> Path:
        """Where one run keeps its part files and its index, beside the archive."""
        return self.folder / "archive" / "work"

    @property
    def drafts(self) -> Path:
        """Where runs keep what they made of each source, for the next one, beside the archive."""
        return self.folder / "archive" / "drafts"

    @property
    def language(self) -> str:
        """The language of labels."""
        return self.site.languages[0]

    @property
    def losses(self) -> float:
        """The share of documents that may be lost without anybody saying so, from 0 to 1."""
        return float(self.check.most_losses.rstrip("% ")) / 100

    def path(self, name: str) -> Path:
        """Return the path of a file of the project, or of one that ships (`builtin:...`)."""
        if name.startswith(BUILTIN):
            return builtin("mappings") / name.removeprefix(BUILTIN)
        return self.folder / name


def builtin(kind: str) -> Path:
    """Return the folder of what ships with lodpipe: `mappings`, `shapes`, or `sample`, the demo.

    In the wheel it lies inside the package, in a checkout beside it.
    """
    package = Path(str(files("lodpipe")))
    inside = package / kind
    return inside if inside.is_dir() else package.parent / kind


def load(folder: Path) -> Project:
    """Read `lodpipe.toml` of a folder (or the file itself) and check it.

    Raises:
        UsageError: there is no such file, or it is not TOML.
        ManyErrors: every fault that the file has, each with the key that it stands under.
    """
    file = folder / PROJECT_FILE if folder.is_dir() else folder
    if not file.is_file():
        raise UsageError(
            f"there is no `{PROJECT_FILE}` in `{folder.name or folder}`",
            hint=f"name the folder of a project, one that has a `{PROJECT_FILE}`",
        )
    raw = _read(file)
    faults = _unknown_keys(raw)
    if faults:
        raise ManyErrors(faults)
    try:
        parsed = msgspec.convert(raw, _File)
    except msgspec.ValidationError as error:
        raise ManyErrors([_wrong_type(raw, error)]) from error
    faults = list(_faults(parsed, file.parent))
    if faults:
        raise ManyErrors(faults)
    return Project(
        folder=file.parent,
        site=parsed.site,
        sources=parsed.source,
        evidence=parsed.evidence,
        check=parsed.check,
        access=parsed.access,
        dates=parsed.dates,
        limits=parsed.limits,
        export=parsed.export,
        oai=parsed.oai,
    )


def _read(file: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(file.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        what, _, at = str(error).partition(" (at line ")
        line = at.rstrip(")").replace(", column ", ":")
        raise UsageError(
            f"not a TOML file: {what.replace('Invalid', 'unreadable')}",
            where=f"{file.name}:{line}" if line[:1].isdigit() else file.name,
            hint='texts stand in straight quotes: `file = "items.csv"`, not in curly ones or none',
        ) from error
    except RecursionError as error:
        raise UsageError(
            "not a TOML file: nested too deep",
            where=file.name,
            hint="look whether it is the right file",
        ) from error


_TABLES: dict[str, type[msgspec.Struct]] = {
    "site": Site,
    "source": Source,
    "evidence": Evidence,
    "check": Check,
    "access": Access,
    "dates": Dates,
    "limits": Limits,
    "export": Export,
    "oai": Oai,
}


_TYPES = {
    "int": "a whole number",
    "float": "a number",
    "str": "a text in quotes",
    "bool": "`true` or `false`",
    "array": "a list in `[...]`",
    "object": "a table",
}


def _unknown_keys(raw: dict[str, Any]) -> list[LodpipeError]:
    """All keys that no table has: msgspec would stop at the first."""
    faults: list[LodpipeError] = []
    for name, value in raw.items():
        if name not in _TABLES:
            faults.append(_fault(f"unknown table `{name}`", f"[{name}]", nearest(name, _TABLES)))
            continue
        known = _TABLES[name].__struct_fields__
        entries = value if isinstance(value, list) else [value]
        for number, entry in enumerate(entries, 1):
            where = f"[[{name}]] number {number}" if isinstance(value, list) else f"[{name}]"
            if not isinstance(entry, dict):
                faults.append(_fault(f"`{name}` is not a table", where, f"write `[{name}]`"))
                continue
            faults.extend(
                _fault(f"unknown key `{key}`", where, nearest(key, known))
                for key in entry
                if key not in known
            )
    return faults


def _wrong_type(raw: dict[str, Any], error: msgspec.ValidationError) -> LodpipeError:
    message = str(error)
    if "required field `access`" in message:
        return _fault(
            "what may be seen is not declared",
            "[access]",
            'write `[access]` with `default = "open"` or `default = "withheld"`',
        )
    text, _, path = message.partition(" - at ")
    where = path.strip("`").removeprefix("$.") or "top"
    missing = re.search("missing required field `(.*)`", text)
    if missing:
        return _fault(f"`{missing[1]}` is missing", where, f"write `{missing[1]} = ...`")
    kinds = re.fullmatch("Expected `(.*)`, got `(.*)`", text)
    if kinds:
        wanted, got = (_words(names) for names in kinds.groups())
        hint = f"write {wanted}"
        if where.endswith(".name"):
            hint = 'write a name for each language: `name = {en = "Highland Library"}`'
        return _fault(f"{got} stands where {wanted} should", where, hint)
    return _fault(text[0].lower() + text[1:], where, "")


def _words(types: str) -> str:
    """What people call the types of TOML."""
    return " or ".join(_TYPES.get(one, one) for one in types.split(" | ") if one != "null")


def _fault(message: str, where: str, hint: str) -> LodpipeError:
    return UsageError(message, hint=hint, where=f"{PROJECT_FILE} {where}")


def _faults(file: _File, folder: Path) -> Iterator[LodpipeError]:
    """What the types alone do not tell."""
    yield from _site_faults(file.site)
    if file.access.default not in ("open", "withheld"):
        yield _fault(
            f"`{file.access.default}` is not an access",
            "[access] default",
            "write `open` or `withheld`",
        )
    if file.check.gate not in GATES:
        hint = nearest(file.check.gate, GATES) or "write `violation` or `warning`"
        yield _fault(f"`{file.check.gate}` is not a gate", "[check] gate", hint)
    if not _is_share(file.check.most_losses):
        yield _fault(
            f"`{file.check.most_losses}` is not a share", "[check] most_losses", 'write `"2 %"`'
        )
    for output in file.export.outputs:
        if output not in OUTPUTS:
            hint = nearest(output, OUTPUTS) or f"known are {', '.join(OUTPUTS)}"
            yield _fault(f"unknown output `{output}`", "[export] outputs", hint)
    yield from _oai_faults(file.oai)
    for number, source in enumerate(file.source, 1):
        yield from _source_faults(source, folder, f"[[source]] number {number}")
    if not file.source and not (folder / file.evidence.folder).is_dir():
        yield _fault(
            "there is neither a `[[source]]` nor an evidence folder",
            "top",
            "add a `[[source]]` with file and mapping",
        )


def _site_faults(site: Site) -> Iterator[LodpipeError]:
    parts = urlsplit(site.base)
    if parts.scheme not in ("http", "https") or not parts.netloc or not site.base.endswith("/"):
        yield _fault(
            f"`{site.base}` cannot be the base of IRIs",
            "[site] base",
            "write an http or https address that ends with `/`",
        )
    if not site.languages:
        yield _fault("there is no language", "[site] languages", 'write `languages = ["en"]`')
    if not site.name:
        yield _fault("the site has no name", "[site] name", 'write `name = {en = "..."}`')
    if site.rights and not site.rights.startswith("http://"):
        yield _fault(
            f"`{site.rights}` is not a licence URI in http form",
            "[site] rights",
            "licence URIs are http, not https: `http://creativecommons.org/...`",
        )


def _oai_faults(oai: Oai) -> Iterator[LodpipeError]:
    # the pattern of a setSpec: https://www.openarchives.org/OAI/2.0/OAI-PMH.xsd
    level = r"[A-Za-z0-9\-_.!~*'()]+"
    for spec in oai.sets:
        if not re.fullmatch(rf"{level}(:{level})*", spec):
            yield _fault(
                f"`{spec}` cannot be the name of a set",
                "[oai] sets",
                "write letters, digits and `-_.!~*'()`; `:` stands between levels",
            )


def _source_faults(source: Source, folder: Path, where: str) -> Iterator[LodpipeError]:
    if source.dated:
        try:
            parse(source.dated)
        except DateError as error:
            yield _fault(
                error.message,
                f"{where} dated",
                "write the day on which the catalogue was exported: `2026-01-30`",
            )
    for name in (source.file, *source.joins.values()):
        if not (folder / name).is_file():
            yield _fault(
                f"there is no file `{name}`", where, "paths start at the folder of the project"
            )
    if not source.mapping.startswith(BUILTIN):
        if not (folder / source.mapping).is_file():
            yield _fault(
                f"there is no mapping `{source.mapping}`",
                where,
                "a shipped one is written `builtin:name.yaml`",
            )
        return
    name = source.mapping.removeprefix(BUILTIN)
    shipped = [path.name for path in builtin("mappings").glob("*.yaml")]
    if name not in shipped:
        yield _fault(
            f"there is no shipped mapping `{source.mapping}`", where, nearest(name, shipped)
        )


def _is_share(text: str) -> bool:
    number = text.rstrip("% ").strip()
    return (
        text.strip().endswith("%") and number.replace(".", "", 1).isdigit() and float(number) <= 100
    )
