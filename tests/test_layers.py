"""The layers: a module imports from lower rows only, and the stages never from one another."""

import ast
import re
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "lodpipe"

ROWS: tuple[tuple[str, ...], ...] = (
    ("errors", "records", "terms"),
    ("findings", "dates", "iris", "aspects", "settings", "pages", "patience"),
    ("wording", "nodes", "rdf", "rdf_read", "project", "tables"),
    ("parts", "evidence", "workspace", "harvest"),
    ("archive",),
    ("read", "mapping", "assemble", "weigh", "check", "publish", "profile", "suggest"),
    ("export", "serve"),
    ("pipeline",),
    ("cli",),
    ("__main__",),
)
ROW_OF = {name: row for row, names in enumerate(ROWS) for name in names}
SAME_ROW = {
    ("terms", "errors"),  # errors is the bottom: everything may raise
    ("rdf_read", "rdf"),  # reads back what the other writes, with the same table of keys
    ("evidence", "parts"),
}
MOST_LINES = 400
MOST_FUNCTION = 45
LONGER_FOR_A_REASON: dict[str, str] = {}

FILES = sorted(
    path for path in PACKAGE.rglob("*.py") if path.name != "__init__.py" or path.parent != PACKAGE
)


def unit(path: Path) -> str:
    """The name that the table of rows knows: the module, or the package that it lies in."""
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imports(path: Path) -> set[str]:
    """First parts below `lodpipe.` of everything that a file imports."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        names = []
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module:
            names = (
                [node.module]
                if node.module != "lodpipe"
                else [f"lodpipe.{a.name}" for a in node.names]
            )
        found.update(name.split(".")[1] for name in names if name.startswith("lodpipe."))
    return found


def test_every_module_has_a_row() -> None:
    units = {unit(path) for path in FILES}

    assert units - set(ROW_OF) - {"__init__", "__main__"} == set()


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_imports_come_from_lower_rows(path: Path) -> None:
    own = unit(path)
    wrong = {
        name
        for name in imports(path) - {own, "__version__"}
        if ROW_OF[name] >= ROW_OF[own] and (own, name) not in SAME_ROW
    }

    assert wrong == set()


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_modules_and_functions_stay_short(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    name = str(path.relative_to(PACKAGE))
    long = {
        f"{name}:{node.name}"
        for node in ast.walk(ast.parse(text))
        if isinstance(node, ast.FunctionDef)
        and (node.end_lineno or 0) - node.lineno + 1 > MOST_FUNCTION
    }
    if text.count("\n") > MOST_LINES:
        long.add(name)

    assert long - set(LONGER_FOR_A_REASON) == set()


def test_only_the_command_line_prints() -> None:
    printing = {
        unit(path)
        for path in FILES
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id == "print"
    }

    assert printing <= {"cli"}


def test_the_table_for_developers_names_every_unit_in_its_row() -> None:
    text = (PACKAGE.parent / "DEVELOPERS.md").read_text(encoding="utf-8")
    rows = {
        int(number): set(re.findall(r"`(\w+)`", cells))
        for number, cells in re.findall(r"^\| (\d) \| (.*) \|$", text, re.MULTILINE)
    }
    units = {unit(path) for path in FILES} - {"__init__"}

    assert rows
    for name in units:
        assert name in rows[ROW_OF[name]], name
