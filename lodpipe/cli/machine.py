"""Commands about this machine: what is installed, and completion of what is typed."""

import platform
import sys
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
    pictures = _pictures()
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
                "pictures": pictures or "work",
            }
        )
    else:
        show.tell(f"lodpipe {__version__}, Python {platform.python_version()}")
        show.table(
            ("package", "version", "for"),
            ((name, version or "missing", words) for name, version, words in rows),
        )
        show.tell(f"pictures: {pictures or 'can be read and cut'}")
        show.tell("missing: " + ", ".join(missing) if missing else "nothing is missing")
    sys.exit(2 if missing or pictures else 0)


def _pictures() -> str:
    """Why pictures cannot be read, "" when they can: the package brings a library of its own."""
    try:
        import pyvips
    except (ImportError, OSError) as error:
        return f"cannot be read: {error}"
    return "" if pyvips.at_least_libvips(8, 13) else "libvips is older than 8.13"


def _needed() -> list[str]:
    """The packages that lodpipe declares, without those of its extras."""
    names = []
    for line in metadata.requires("lodpipe") or []:
        requirement, _, marker = line.partition(";")
        if "extra ==" not in marker:
            name = requirement.strip()
            for sign in "[<>=!~ (":
                name = name.partition(sign)[0]
            names.append(name)
    return sorted(set(names), key=str.lower)


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
