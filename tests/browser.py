"""A real browser for tests: opens a file, reads it as axe-core does, takes its picture.

Headless Chromium is driven over its own pipe (the DevTools protocol,
https://chromedevtools.github.io/devtools-protocol/), so that no port is opened and no driver has
to fit its version. axe-core and the Nu checker come from npm packages that `.ci/run` installs
below `.venv/npm`; another folder is named by LODPIPE_NPM. Where something is missing, tests skip
and say what; where LODPIPE_BROWSER_REQUIRED is set they fail.

    with Browser() as browser:
        browser.open(path, width=390, dark=True)
        assert browser.violations() == []
        browser.screenshot(pictures / "page.png")
"""

import base64
import fcntl
import itertools
import json
import os
import shutil
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any, NoReturn

import pytest

REPOSITORY = Path(__file__).parent.parent
NPM = Path(os.environ.get("LODPIPE_NPM") or REPOSITORY / ".venv" / "npm") / "node_modules"
AXE = NPM / "axe-core" / "axe.min.js"
CHECKER = NPM / "vnu-jar" / "build" / "dist" / "vnu.jar"
PICTURES = Path(os.environ.get("LODPIPE_PICTURES") or REPOSITORY / "build" / "pictures")
"""Where tests leave the pictures that they take, for people to look at."""

WCAG = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa")
"""The rules of axe-core that test a success criterion of WCAG 2.2, levels A and AA."""
WIDE, PHONE = 1280, 390
_PATIENCE = 60.0


def missing(reason: str) -> NoReturn:
    """Skip, or fail where a browser is required."""
    if os.environ.get("LODPIPE_BROWSER_REQUIRED"):
        pytest.fail(reason)
    pytest.skip(reason)


@dataclass(frozen=True, slots=True)
class Violation:
    """One broken rule of axe-core, with the elements that break it."""

    rule: str
    told: str
    elements: tuple[str, ...]


class Browser:
    """One headless Chromium with one page."""

    def __init__(self) -> None:
        program = shutil.which("chromium") or shutil.which("chromium-browser")
        if program is None:
            missing("needs a browser: install the system package chromium")
        if not AXE.is_file():
            missing("needs axe-core: `npm install --prefix .venv/npm axe-core`, or set LODPIPE_NPM")
        self._folder = tempfile.TemporaryDirectory(prefix="browser-")
        theirs_in, self._to = _high(*os.pipe())
        self._from, theirs_out = _high(*os.pipe())

        def pipes() -> None:
            os.dup2(theirs_in, 3)
            os.dup2(theirs_out, 4)

        self._process = subprocess.Popen(
            [
                program,
                "--headless=new",
                "--no-sandbox",
                "--disable-gpu",
                "--hide-scrollbars",
                "--force-color-profile=srgb",
                "--lang=en",
                "--no-first-run",
                "--disable-background-networking",
                "--disable-component-update",
                "--disable-sync",
                "--remote-debugging-pipe",
                f"--user-data-dir={self._folder.name}",
            ],
            preexec_fn=pipes,
            close_fds=False,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        os.close(theirs_in)
        os.close(theirs_out)
        self._numbers = itertools.count(1)
        self._rest = b""
        self._session = ""
        target = self.call("Target.createTarget", url="about:blank")["targetId"]
        attached = self.call("Target.attachToTarget", targetId=target, flatten=True)
        self._session = attached["sessionId"]
        self.call("Page.enable")
        self._axe = AXE.read_text(encoding="utf-8")

    def __enter__(self) -> "Browser":
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """End the browser that was started here."""
        self._process.terminate()
        try:
            self._process.wait(timeout=10)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        os.close(self._to)
        os.close(self._from)
        shutil.rmtree(self._folder.name, ignore_errors=True)
        self._folder.cleanup()

    def open(
        self,
        path: Path,
        *,
        width: int = WIDE,
        height: int = 900,
        dark: bool = False,
        paper: bool = False,
        scripts: bool = True,
    ) -> None:
        """Open a file and wait until it is loaded.

        Args:
            width, height: of the window, in CSS pixels. `dark`: the reader prefers dark pages.
            paper: the look of print. `scripts`: False for a reader without JavaScript.
        """
        self.call(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=height,
            deviceScaleFactor=1,
            mobile=width < 600,
        )
        self.call(
            "Emulation.setEmulatedMedia",
            media="print" if paper else "screen",
            features=[
                {"name": "prefers-color-scheme", "value": "dark" if dark else "light"},
                {"name": "prefers-reduced-motion", "value": "reduce"},
            ],
        )
        self.call("Emulation.setScriptExecutionDisabled", value=not scripts)
        self.call("Page.navigate", url=path.resolve().as_uri())
        self._wait("Page.loadEventFired")

    def violations(self, rules: Iterable[str] = WCAG) -> list[Violation]:
        """Return what axe-core finds against the rules with these tags.

        Raises:
            AssertionError: no rule met anything, so nothing was tested.
        """
        self.run(self._axe + ";0")
        options = {"runOnly": list(rules), "resultTypes": ["violations"]}
        found = self.run(f"axe.run(document, {json.dumps(options)})")
        assert found["passes"], "axe-core met nothing on this page"
        return [
            Violation(each["id"], each["help"], tuple(node["html"][:200] for node in each["nodes"]))
            for each in found["violations"]
        ]

    def run(self, script: str) -> Any:
        """Run a script in the page and return its value; a promise is waited for."""
        answer = self.call(
            "Runtime.evaluate", expression=script, awaitPromise=True, returnByValue=True
        )
        assert "exceptionDetails" not in answer, answer["exceptionDetails"]
        return answer["result"].get("value")

    def press(self, key: str) -> None:
        """Press a key: Tab, Enter, or another that has a name."""
        code = {"Tab": 9, "Enter": 13, "Escape": 27}[key]
        text = {"text": "\r"} if key == "Enter" else {}
        for kind in ("keyDown", "keyUp"):
            self.call(
                "Input.dispatchKeyEvent",
                type=kind,
                key=key,
                code=key,
                windowsVirtualKeyCode=code,
                **(text if kind == "keyDown" else {}),
            )

    def screenshot(self, path: Path, *, whole: bool = True) -> None:
        """Write the picture of the page, or of the window only, as PNG."""
        made = self.call("Page.captureScreenshot", format="png", captureBeyondViewport=whole)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(base64.b64decode(made["data"]))

    def overflow(self) -> int:
        """Return by how many pixels the page is wider than its window: 0 on a good page."""
        root = "document.documentElement"
        return int(self.run(f"{root}.scrollWidth - {root}.clientWidth"))

    def call(self, method: str, **values: Any) -> dict[str, Any]:
        """Call one method of the protocol and return its answer."""
        number = next(self._numbers)
        message = {"id": number, "method": method, "params": values}
        if self._session:
            message["sessionId"] = self._session
        data = json.dumps(message).encode() + b"\0"
        while data:
            data = data[os.write(self._to, data) :]
        answer = self._read(lambda got: got.get("id") == number)
        assert "error" not in answer, f"{method}: {answer['error']}"
        return dict(answer["result"])

    def _wait(self, event: str) -> None:
        self._read(lambda got: got.get("method") == event)

    def _read(self, fits: Callable[[dict[str, Any]], bool]) -> dict[str, Any]:
        """Read messages until one fits; the others are events that nobody waits for."""
        until = time.monotonic() + _PATIENCE
        while time.monotonic() < until:
            message, end, rest = self._rest.partition(b"\0")
            if not end:
                more = os.read(self._from, 1 << 20)
                assert more, "the browser has ended"
                self._rest += more
                continue
            self._rest = rest
            got: dict[str, Any] = json.loads(message)
            if fits(got):
                return got
        raise AssertionError("the browser does not answer")


def _high(reading: int, writing: int) -> tuple[int, int]:
    """Move both ends of a pipe away from 3 and 4, which the browser reads and writes."""
    moved = []
    for end in (reading, writing):
        moved.append(fcntl.fcntl(end, fcntl.F_DUPFD_CLOEXEC, 10))
        os.close(end)
    return moved[0], moved[1]


def invalid(paths: Iterable[Path]) -> list[str]:
    """Return what the Nu HTML checker (https://validator.github.io/validator/) finds in files."""
    java = shutil.which("java")
    if java is None or not CHECKER.is_file():
        missing("needs java and `npm install --prefix .venv/npm --ignore-scripts vnu-jar`")
    command = [java, "-Xss8m", "-jar", str(CHECKER), "--format", "json", "--exit-zero-always"]
    done = subprocess.run(
        [*command, *map(str, paths)], capture_output=True, check=True, timeout=600
    )
    return [
        f"{Path(each['url']).name}:{each.get('lastLine', 0)}: {each['message']}"
        for each in json.loads(done.stderr)["messages"]
    ]
