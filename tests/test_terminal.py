"""What a person sees in a terminal of 80 columns, without colour."""

import fcntl
import os
import pty
import re
import shutil
import struct
import subprocess
import sys
import termios
from pathlib import Path

import pytest
from click.testing import CliRunner
from test_docs import every

from lodpipe.cli import main

SAMPLE = Path(__file__).parent.parent / "sample"
COLUMNS = 80
CLAIM = (
    "--about", "item-0101", "--aspect", "maker", "--value", "dolen", "--by", "tarrow",
    "--on", "2024-03-11", "--basis", "Same camera position as item 0106.",
)  # fmt: skip
WITHDRAW = ("--by", "Teveli Council", "--reason", "Letter of 2 May 2023.")
COLOUR = re.compile(r"\x1b\[[0-9;]*?(?:3[0-7]|4[0-7]|9[0-7]|38;|48;)[0-9;]*m")
CONTROL = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]")


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("terminal")
    shutil.copytree(SAMPLE, folder / "sample", ignore=shutil.ignore_patterns("archive", "export"))
    done = CliRunner().invoke(main, ["run", str(folder / "sample"), "--no-export"])
    assert done.exit_code == 0
    lines = ["start", str(folder / "line"), "--from", str(folder / "sample/catalogue/items.csv")]
    for made in (lines, ["run", str(folder / "line"), "--no-export"]):
        assert CliRunner().invoke(main, made).exit_code == 0
    (folder / "broken").mkdir()
    (folder / "broken/lodpipe.toml").write_text(
        '[site]\nbase = "example"\n[[source]]\nfile = "a.csv"\nmaping = "b.yaml"\n[acess]\n'
    )
    (folder / "names.csv").write_text('uri,label\nhttps://names.example.org/1,"Dolen, Mira"\n')
    return folder


def seen(folder: Path, *arguments: str) -> str:
    """Run a command in a terminal, and return what stands on it."""
    inner, outer = pty.openpty()
    fcntl.ioctl(outer, termios.TIOCSWINSZ, struct.pack("HHHH", 40, COLUMNS, 0, 0))
    environment = {**os.environ, "TERM": "xterm-256color", "NO_COLOR": "1"}
    environment.pop("COLUMNS", None)
    process = subprocess.Popen(
        [sys.executable, "-m", "lodpipe", *arguments],
        stdin=outer, stdout=outer, stderr=outer, cwd=folder, env=environment,
    )  # fmt: skip
    os.close(outer)
    parts = []
    while True:
        try:
            part = os.read(inner, 1 << 16)
        except OSError:  # the other end is closed: Linux says so with EIO
            break
        if not part:
            break
        parts.append(part)
    os.close(inner)
    process.wait()
    return b"".join(parts).decode()


COMMANDS = [
    ("--help",),
    *((*words.split(), "--help") for words in sorted({*every(main), "claim"})),
    ("run", "sample", "--no-export"),
    ("check", "sample"),
    ("check", "sample", "--tiers"),
    ("check", "sample/evidence"),
    ("claim", "add", "sample", *CLAIM),
    ("compare", "sample", "1", "1"),
    ("completion", "bash"),
    ("date", "ca. 1872", "between 1873 and 1876", "5/6/64"),
    ("doctor",),
    ("explain", "item-0101", "--project", "sample"),
    ("explain", "person/dolen", "--project", "sample"),
    ("export", "line", "--to", "out", "--release", "1"),
    ("harvest", "http://127.0.0.1:9/oai", "records.xml"),
    ("profile", "sample/catalogue/items.csv"),
    ("serve", "sample", "--port", "99999"),
    ("services", "line"),
    ("run", "line", "--no-export"),
    ("start", "again", "--from", "sample/catalogue/items.csv"),
    ("start", "once-more", "--demo"),
    ("suggest", "sample", "--against", "names.csv"),
    ("weigh", "sample"),
    ("weigh", "sample", "item-0075"),
    ("weigh", "sample", "item-0075", "--argument"),
    ("weigh", "sample", "--open"),
    ("weigh", "sample", "--without-source", "text/pay-book"),
    ("weigh", "sample", "--assume", "item-0080 place hessendal"),
    ("withdraw", "object/0116", "line", *WITHDRAW),
    # what cannot be done
    ("runn", "sample"),
    ("run", "sample", "--worker", "2"),
    ("run", "sample", "--engine", "fast"),
    ("run", "nowhere"),
    ("run", "broken"),
    ("check",),
    ("check", "nowhere"),
    ("claim", "add", "sample", "--about", "item-010", "--aspect", "makr", "--value", "doln"),
    ("compare", "sample", "1", "7"),
    ("compare", "sample", "one"),
    ("explain", "item-9999", "--project", "sample"),
    ("explain", "sample/catalogue/items.csv", "--project", "sample", "--mapping", "mappings/items.yaml"),
    ("export", "sample", "--release", "9"),
    ("profile", "nowhere.csv"),
    ("start", "line"),
    ("start", "line", "--from", "sample/catalogue/items.csv"),
    ("suggest", "sample"),
    ("suggest", "sample", "--accept"),
    ("weigh", "sample", "--assume", "item-0080 plac hessendal"),
    ("withdraw", "object/item-9999", "sample", *WITHDRAW),
]  # fmt: skip


def test_every_command_is_looked_at() -> None:
    """Also beside its help."""
    said = {" ".join(words) for words in COMMANDS if "--help" not in words}

    assert [name for name in every(main) if not any(one.startswith(name) for one in said)] == []


@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_nothing_is_wider_than_the_terminal(demo: Path, command: tuple[str, ...]) -> None:
    """But for a word that is longer than a line, an address mostly; it has the line to itself."""
    shown = seen(demo, *command)
    lines = [CONTROL.sub("", line).rstrip() for line in re.split(r"[\r\n]", shown)]

    assert len(lines) > 1
    assert "Traceback" not in shown
    wide = [line for line in lines if len(line) > COLUMNS]
    if command[0] != "completion":  # a script, which may not be broken
        assert [line for line in wide if len(line.strip()) < COLUMNS or " " in line.strip()] == []
    assert not COLOUR.search(shown)
