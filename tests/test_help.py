"""The program starts at once: `lodpipe --help` imports the commands, and no stage."""

import resource
import subprocess
import sys

MAY = {"click", "lodpipe"}
"""Packages outside of the standard library that `--help` may import."""
MOST_SECONDS = 0.15
SHOW = """
import sys
before = set(sys.modules)
from lodpipe.cli import main
main(["--help"], standalone_mode=False)
new = {name.partition(".")[0] for name in set(sys.modules) - before}
print(*sorted(new - set(sys.stdlib_module_names)), file=sys.stderr)
print(*sorted(name for name in sys.modules if name.startswith("lodpipe.")), file=sys.stderr)
"""
STAGES = (
    "read",
    "mapping",
    "assemble",
    "weigh",
    "check",
    "publish",
    "pipeline",
    "archive",
    "export",
)


def test_help_imports_the_commands_only() -> None:
    done = subprocess.run([sys.executable, "-c", SHOW], capture_output=True, text=True, check=True)
    packages, ours = (set(line.split()) for line in done.stderr.splitlines())

    assert packages <= MAY
    assert not {name for name in ours if name.split(".")[1] in STAGES}


def test_help_costs_little() -> None:
    spent = []
    for _ in range(5):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run([sys.executable, "-m", "lodpipe", "--help"], capture_output=True, check=True)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        spent.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)

    assert min(spent) < MOST_SECONDS
