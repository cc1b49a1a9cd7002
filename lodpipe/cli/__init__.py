"""The command line: arguments, progress, printing, exit status. The only module that prints.

Data go to stdout, talk to stderr. Exit status: 0 done, 1 findings at the gate or too many losses,
2 wrong use or an unusable file, 3 nothing to release or nothing checked, 4 not finished.
"""

from lodpipe.cli.commands import main

__all__ = ["main"]
