"""Runs that the tests of this folder share."""

from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest
from conformance.released import Released, catalogue, demo

Releases = Callable[[str], Released]


@pytest.fixture(scope="session")
def releases(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Releases:
    """Return what makes a release by name: `demo`, or an open catalogue of the reference material.

    Each is made once, however many tests look at it.
    """

    @cache
    def made(name: str) -> Released:
        folder = tmp_path_factory.mktemp(name)
        if name == "demo":
            return demo(folder)
        reference: Path = request.getfixturevalue("reference")
        return catalogue(name, reference, folder)

    return made
