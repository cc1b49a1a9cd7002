"""Listening: uvicorn with limits, in one process or several."""

import os
from pathlib import Path

import uvicorn
from starlette.applications import Starlette

from lodpipe import project
from lodpipe.serve.app import Settings, create
from lodpipe.terms import concepts

PROJECT = "LODPIPE_SERVED_PROJECT"
"""Where a worker process finds the folder of its project."""
MOST_AT_ONCE = 512
HEAD_BYTES = 16_000
GRACE = 20
"""Seconds that answers which have begun may still take when the server is stopped."""


def listen(folder: Path, *, host: str, port: int, workers: int) -> None:
    """Serve a project until it is told to stop.

    Raises:
        UsageError: a project that cannot be served.
    """
    os.environ[PROJECT] = str(folder.resolve())
    application()  # what is wrong with the project shows before anything listens
    uvicorn.run(
        "lodpipe.serve.listening:application",
        factory=True,
        host=host,
        port=port,
        workers=workers,
        limit_concurrency=MOST_AT_ONCE,
        timeout_keep_alive=5,
        timeout_graceful_shutdown=GRACE,
        h11_max_incomplete_event_size=HEAD_BYTES,
        server_header=False,
        access_log=False,
        log_level="warning",
    )


def application() -> Starlette:
    """Return the application of the project that the environment names: each worker makes it."""
    chosen = project.load(Path(os.environ[PROJECT]))
    own = chosen.folder / "mappings" / "vocab" / "concepts.csv"
    return create(Settings(chosen, concepts(*([own] if own.is_file() else []))))
