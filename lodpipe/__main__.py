"""`python -m lodpipe` is the same as `lodpipe`."""

from lodpipe.cli import main

main()
