"""What all tests share: no network, and the folder of published reference material."""

import os
import socket
from pathlib import Path
from typing import NoReturn

import pytest


@pytest.fixture(scope="session")
def reference() -> Path:
    """Folder of published schemas, suites and open catalogues; skipped where it is not there."""
    folder = os.environ.get("LODPIPE_REFERENCE", "")
    if folder and (Path(folder) / "reference" / "INDEX.md").is_file():
        return Path(folder)
    reason = "needs the reference material: set LODPIPE_REFERENCE to its folder"
    if os.environ.get("LODPIPE_REFERENCE_REQUIRED"):
        pytest.fail(reason)
    pytest.skip(reason)


@pytest.fixture(autouse=True)
def _no_network(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing that lodpipe does needs the network; a test that opens a socket fails."""

    def refuse(*_: object, **__: object) -> NoReturn:
        raise AssertionError("a socket was opened")

    monkeypatch.setattr(socket.socket, "connect", refuse)
    monkeypatch.setattr(socket, "create_connection", refuse)
    monkeypatch.setattr(socket, "getaddrinfo", refuse)


def pytest_addoption(parser: pytest.Parser) -> None:
    """Files of whole outputs, which a person reads before they are committed."""
    parser.addoption("--write-golden", action="store_true", help="write tests/golden anew")
