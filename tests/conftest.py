"""What all tests share: no network, and the folder of published reference material."""

import os
import socket
from collections.abc import Callable
from pathlib import Path
from typing import Any

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
def _no_network(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing that lodpipe does needs the network; a test that opens a socket fails.

    Tests marked `loopback` may talk to this machine, and to no other. Sockets that are files are
    how processes of one run find one another.
    """
    here = ("a file", *(("127.0.0.1",) if request.node.get_closest_marker("loopback") else ()))

    def guarded(name: str, host: Callable[..., str]) -> Callable[..., Any]:
        original = getattr(*((socket.socket, name) if name == "connect" else (socket, name)))

        def call(*args: Any, **kwargs: Any) -> Any:
            if host(*args) not in here:
                raise AssertionError("a socket was opened")
            return original(*args, **kwargs)

        return call

    def host_of(_: socket.socket, address: Any) -> str:
        return str(address[0]) if isinstance(address, tuple) else "a file"

    monkeypatch.setattr(socket.socket, "connect", guarded("connect", host_of))
    for name, host in (
        ("create_connection", lambda address, *_: str(address[0])),
        ("getaddrinfo", lambda host, *_: str(host)),
    ):
        monkeypatch.setattr(socket, name, guarded(name, host))


def pytest_addoption(parser: pytest.Parser) -> None:
    """Files of whole outputs, which a person reads before they are committed."""
    parser.addoption("--write-golden", action="store_true", help="write tests/golden anew")
