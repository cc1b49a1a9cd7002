"""Commands about this machine: what is installed, and completion of what is typed."""

import platform
import re
import sqlite3
import sys
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass
from importlib import metadata

import click

FOR = {
    "anyio": "lodpipe serve",
    "click": "commands",
    "google-re2": "patterns in mappings",
    "httptools": "lodpipe serve",
    "jinja2": "pages of the site",
    "lxml": "XML sources, EDM and OAI-PMH",
    "msgspec": "lodpipe.toml",
    "orjson": "documents and exports",
    "pymarc": "MARC sources",
    "pyld": "JSON-LD that others wrote",
    "pyoxigraph": "RDF that others wrote, authority files",
    "pyshacl": "the second engine of the check",
    "python-calamine": "spreadsheets",
    "python-jsonpath": "JSON sources",
    "pyvips": "pictures",
    "rapidfuzz": "names held against authority files",
    "rdflib": "shapes of your own",
    "requests": "harvests and stores",
    "rich": "tables and bars",
    "ruamel.yaml": "mappings",
    "starlette": "lodpipe serve",
    "uritemplate": "addresses in mappings",
    "uvicorn": "lodpipe serve",
    "uvloop": "lodpipe serve, fast",
    "zstandard": "dumps",
}
"""What is missing when a package is missing."""


OLDEST_VIPS = (8, 13)
"""Of libvips: the first that reads files which nobody vouches for without its risky loaders."""
OLDEST_SQLITE = (3, 8, 2)
"""Of SQLite, for tables without rowid: https://sqlite.org/withoutrowid.html."""


@dataclass(frozen=True, slots=True)
class Feature:
    """Something that this machine can do, or why it cannot.

    Attributes:
        fault: what is missing; empty where it works. `cure`: what to do about it.
        seen: what it works with. `needed`: whether lodpipe promises it without extras.
    """

    name: str
    fault: str
    cure: str
    seen: str = ""
    needed: bool = True


@click.command()
@click.option("--json", "as_json", is_flag=True, help="Print JSON on stdout for a program.")
def doctor(as_json: bool) -> None:
    """Tell what is installed, in which version, and what does not work without it.

    \b
    Example:
      lodpipe doctor
      lodpipe doctor --json
    """
    from lodpipe import __version__
    from lodpipe.cli import show

    rows = [(name, _installed(name), FOR.get(name.lower(), "")) for name in _needed()]
    missing = [name for name, version, _ in rows if not version]
    pictures = [] if "pyvips" in missing else [_pictures()]
    features = [*_by_packages(rows), _archive(), *pictures, _letters(), *_extras()]
    if as_json:
        show.data(
            {
                "lodpipe": __version__,
                "python": platform.python_version(),
                "packages": [
                    {"name": name, "version": version, "for": words}
                    for name, version, words in rows
                ],
                "missing": missing,
                "features": [{**asdict(one), "works": not one.fault} for one in features],
            }
        )
    else:
        show.tell(f"lodpipe {__version__}, Python {platform.python_version()}")
        show.table(
            ("package", "version", "for"),
            ((name, version or "missing", words) for name, version, words in rows),
        )
        for line in _told(features):
            show.tell(line)
    sys.exit(2 if any(one.fault and one.needed for one in features) else 0)


def _told(features: Iterable[Feature]) -> Iterator[str]:
    """What works with what, and what does not."""
    yield ""
    broken = [one for one in features if one.fault]
    for one in features:
        if one.seen and not one.fault:
            yield f"{one.name}: {one.seen}"
    for one in broken:
        without = "does not work: " if one.needed else "is not needed for a run: "
        yield f"{one.name} {without}{one.fault}"
        yield f"  hint: {one.cure}"
    if not any(one.needed for one in broken):
        yield "all that lodpipe promises works here"


def _by_packages(rows: Iterable[tuple[str, str, str]]) -> Iterator[Feature]:
    """What does not work because packages are missing."""
    lacking: dict[str, list[str]] = {}
    for name, version, words in rows:
        if not version:
            lacking.setdefault(words or name, []).append(name)
    for words, names in lacking.items():
        yield Feature(words, f"missing: {', '.join(names)}", f"pip install {' '.join(names)}")


def _archive() -> Feature:
    fits = sqlite3.sqlite_version_info >= OLDEST_SQLITE
    fault = "" if fits else f"SQLite {sqlite3.sqlite_version} is older than 3.8.2"
    return Feature("archive", fault, "use a newer Python", f"SQLite {sqlite3.sqlite_version}")


def _pictures() -> Feature:
    """Whether pictures can be read and cut: the package brings a library of its own."""
    cure = "pip install 'pyvips[binary]'"
    try:
        import pyvips
    except (ImportError, OSError) as error:
        return Feature("pictures", f"they cannot be read: {error}", cure)
    version = ".".join(str(pyvips.version(part)) for part in range(3))
    fault = "" if pyvips.at_least_libvips(*OLDEST_VIPS) else f"libvips {version} is older than 8.13"
    return Feature("pictures", fault, cure, f"libvips {version}")


def _letters() -> Feature:
    """Whether names with accents can be printed: a Windows console or LANG=C may not know them."""
    encoding = (sys.stdout.encoding or "ascii").lower()
    fault = "" if encoding.startswith("utf") else f"the terminal takes {encoding}"
    return Feature("letters of all languages", fault, "set PYTHONUTF8=1", encoding, needed=False)


def _extras() -> Iterator[Feature]:
    """What was not installed because it is an extra: tests, guides."""
    for extra in metadata.metadata("lodpipe").get_all("Provides-Extra") or []:
        lacking = [name for name in _required(extra) if not _installed(name)]
        fault = f"missing: {', '.join(lacking)}" if lacking else ""
        yield Feature(
            f"lodpipe[{extra}]", fault, f"pip install 'lodpipe[{extra}]'", "installed", needed=False
        )


def _needed() -> list[str]:
    """The packages that lodpipe declares, without those of its extras."""
    return _required("")


def _required(extra: str) -> list[str]:
    """The packages of an extra, or those that are always needed."""
    names = set()
    for line in metadata.requires("lodpipe") or []:
        requirement, _, marker = line.partition(";")
        of = re.search(r"extra == [\'\"]([^\'\"]+)", marker)
        if (of[1] if of else "") == extra:
            names.add(re.split(r"[\[<>=!~ (]", requirement.strip(), maxsplit=1)[0])
    return sorted(names, key=str.lower)


def _installed(name: str) -> str:
    try:
        return metadata.version(name)
    except metadata.PackageNotFoundError:
        return ""


@click.command()
@click.argument("shell", type=click.Choice(["bash", "zsh", "fish"]))
def completion(shell: str) -> None:
    """Print a script by which a shell completes commands and options.

    \b
    Example:
      lodpipe completion bash > ~/.local/share/bash-completion/completions/lodpipe
    """
    from click.shell_completion import get_completion_class

    from lodpipe.cli.commands import main

    made = get_completion_class(shell)
    if made is None:  # click knows the shells that we offer
        raise AssertionError(shell)
    # as it stands: lines of a script may not be broken
    click.echo(made(main, {}, "lodpipe", "_LODPIPE_COMPLETE").source())
