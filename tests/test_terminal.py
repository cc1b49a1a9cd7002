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

from lodpipe.cli import main

SAMPLE = Path(__file__).parent.parent / "sample"
COLUMNS = 80
COLOUR = re.compile(r"\x1b\[[0-9;]*?(?:3[0-7]|4[0-7]|9[0-7]|38;|48;)[0-9;]*m")
CONTROL = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]")


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("terminal")
    shutil.copytree(SAMPLE, folder / "sample", ignore=shutil.ignore_patterns("archive", "export"))
    done = CliRunner().invoke(main, ["run", str(folder / "sample"), "--no-export"])
    assert done.exit_code == 0
    return folder


def seen(folder: Path, *arguments: str) -> str:
    """Run a command in a terminal, and return what stands on it."""
    inner, outer = pty.openpty()
    fcntl.ioctl(outer, termios.TIOCSWINSZ, struct.pack("HHHH", 40, COLUMNS, 0, 0))
    environment = {**os.environ, "TERM": "xterm-256color", "NO_COLOR": "1"}
    environment.pop("COLUMNS", None)
    process = subprocess.Popen(
        [sys.executable, "-m", "lodpipe", *arguments],
        stdin=outer, stdout=outer, stderr=subprocess.DEVNULL, cwd=folder, env=environment,
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
    return b"".join(parts).decode().replace("\r\n", "\n")


COMMANDS = [
    ("--help",),
    ("run", "--help"),
    ("run", "sample", "--no-export"),
    ("check", "sample"),
    ("check", "sample", "--tiers"),
    ("weigh", "sample"),
    ("weigh", "sample", "item-0075"),
    ("weigh", "sample", "item-0075", "--argument"),
    ("weigh", "sample", "--open"),
    ("weigh", "sample", "--without-source", "text/pay-book"),
    ("weigh", "sample", "--assume", "item-0080 place hessendal"),
    ("compare", "sample", "1", "1"),
    ("date", "ca. 1872", "between 1873 and 1876", "5/6/64"),
    ("doctor",),
    ("profile", "sample/catalogue/items.csv"),
]


@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_nothing_is_wider_than_the_terminal(demo: Path, command: tuple[str, ...]) -> None:
    """But for a word that is longer than a line, an address mostly."""
    shown = seen(demo, *command)
    lines = [CONTROL.sub("", line) for line in shown.split("\n")]
    wide = [line for line in lines if len(line) > COLUMNS and " " in line.strip()[:COLUMNS]]

    assert len(lines) > 1
    assert [line for line in wide if max(map(len, line.split())) < COLUMNS - 8] == []
    assert not COLOUR.search(shown)
