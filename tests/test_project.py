"""lodpipe.toml: what it says, and every fault of it in one run."""

from dataclasses import fields
from pathlib import Path

import pytest

from lodpipe import project
from lodpipe.dates import Policy
from lodpipe.errors import ManyErrors, UsageError

GOOD = """
[site]
base = "https://collections.example.org/"
name = {en = "Highland Railway Library"}
[[source]]
file = "items.csv"
mapping = "item.yaml"
[access]
default = "open"
"""


def made(tmp_path: Path, text: str) -> Path:
    (tmp_path / "lodpipe.toml").write_text(text, encoding="utf-8")
    for name in ("items.csv", "item.yaml"):
        (tmp_path / name).touch()
    return tmp_path


def test_a_project_is_read_whole(tmp_path: Path) -> None:
    read = project.load(made(tmp_path, GOOD))

    assert read.site.base == "https://collections.example.org/"
    assert read.sources[0].file == "items.csv"
    assert read.archive == tmp_path / "archive" / "archive.sqlite"
    assert read.losses == 0.02
    assert read.dates.circa_years == 5


FAULTS = [
    ('base = "https://collections.example.org/"', 'base = "collections.example.org"',
     "`collections.example.org` cannot be the base of IRIs"),
    ("[access]\n", "[acess]\n", "unknown table `acess`"),
    ("mapping =", "maping =", "unknown key `maping`"),
    ('"items.csv"', '"item.csv"', "there is no file `item.csv`"),
    ('"item.yaml"', '"items.yaml"', "there is no mapping `items.yaml`"),
    ('"open"', '"opne"', "`opne` is not an access"),
    ('[access]\ndefault = "open"', "", "what may be seen is not declared"),
    ('mapping = "item.yaml"', 'mapping = "item.yaml"\nrank = "high"',
     "a text in quotes stands where a whole number should"),
    ('mapping = "item.yaml"', 'mapping = "item.yaml"\ndated = "last year"',
     "`last year` is not an EDTF date"),
    ('name = {', 'nam = {', "unknown key `nam`"),
    ('default = "open"', '', "`default` is missing"),
    ('[access]', '[check]\ngate = "info"\n[access]', "`info` is not a gate"),
    ('[access]', '[check]\nmost_losses = "two"\n[access]', "`two` is not a share"),
    ('[access]', '[export]\noutputs = ["linkedart"]\n[access]', "unknown output `linkedart`"),
]  # fmt: skip


@pytest.mark.parametrize(("right", "wrong", "message"), FAULTS, ids=[row[2] for row in FAULTS])
def test_each_fault_is_told(tmp_path: Path, right: str, wrong: str, message: str) -> None:
    assert right in GOOD

    with pytest.raises(ManyErrors) as caught:
        project.load(made(tmp_path, GOOD.replace(right, wrong)))

    assert message in [error.message for error in caught.value.errors]


def test_all_faults_are_told_in_one_run(tmp_path: Path) -> None:
    text = GOOD.replace("items.csv", "x.csv").replace("item.yaml", "x.yaml").replace("open", "shut")

    with pytest.raises(ManyErrors) as caught:
        project.load(made(tmp_path, text))

    assert len(caught.value.errors) == 3


def test_the_nearest_word_is_offered(tmp_path: Path) -> None:
    with pytest.raises(ManyErrors) as caught:
        project.load(made(tmp_path, GOOD.replace("mapping =", "maping =")))

    assert str(caught.value.errors[0]) == (
        "error[usage]: unknown key `maping`\n"
        "  --> lodpipe.toml [[source]] number 1\n"
        "  hint: did you mean `mapping`?"
    )


@pytest.mark.parametrize("text", ["[site", "a = \xff"], ids=["half a table", "not UTF-8"])
def test_what_is_not_toml_is_refused(tmp_path: Path, text: str) -> None:
    (tmp_path / "lodpipe.toml").write_bytes(text.encode("latin-1"))

    with pytest.raises(UsageError, match="not a TOML file"):
        project.load(tmp_path)


def test_a_folder_without_project_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match=r"there is no `lodpipe\.toml`"):
        project.load(tmp_path)


def test_what_ships_is_found() -> None:
    assert (project.builtin("mappings") / "vocab").is_dir()
    assert project.builtin("shapes").is_dir()


def test_the_keys_of_dates_are_those_of_the_policy() -> None:
    policy = {field.name for field in fields(Policy)}

    assert set(project.Dates.__struct_fields__) == policy | {"circa_years"}
