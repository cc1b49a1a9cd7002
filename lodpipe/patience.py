"""Asking another server that may be busy: again after faults that pass, and not for ever."""

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

import requests

from lodpipe import __version__
from lodpipe.errors import NotFinishedError, UsageError

TRIES = 6
LONGEST_WAIT = 600.0
"""Seconds; a server that asks for more is told of, and the work goes on later."""
TIMEOUT = (10, 120)
"""Seconds to connect, and between bytes."""
AGAIN = (429, 500, 502, 503, 504)
AGENT = f"lodpipe/{__version__}"
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Patience:
    """How faults that pass are borne.

    Attributes:
        wait: waits so many seconds; tests put their own here.
        say: told, in a sentence, whenever there is something to wait for.
    """

    wait: Callable[[float], None] = time.sleep
    say: Callable[[str], None] = lambda text: None

    def ask(
        self,
        url: str,
        send: Callable[[], requests.Response],
        read: Callable[[requests.Response], T],
    ) -> T:
        """Send a request until it is answered, and return what is read from the answer.

        Args:
            read: raises for an answer that is a fault which does not pass.

        Raises:
            UsageError: what cannot be asked at all.
            NotFinishedError: no answer, however often it is tried.
        """
        for attempt in range(1, TRIES + 1):
            pause = 2.0 ** (attempt - 1)
            try:
                with send() as answer:
                    if answer.status_code not in AGAIN:
                        return read(answer)
                    fault = f"{url} answers {answer.status_code}"
                    pause = _asked_pause(answer.headers.get("Retry-After", ""), pause)
            except requests.exceptions.SSLError as error:
                raise UsageError(
                    f"{url} has a certificate that is not trusted",
                    hint="name the authorities that you trust in REQUESTS_CA_BUNDLE",
                ) from error
            except (requests.ConnectionError, requests.Timeout) as error:
                fault = f"{url} cannot be reached: {type(error).__name__}"
            except requests.RequestException as error:
                raise UsageError(
                    f"`{url}` cannot be asked: {error}",
                    hint="look at the address, and whether the other house can be reached",
                ) from error
            if attempt == TRIES or pause > LONGEST_WAIT:
                break
            self.say(f"{fault}; asking again in {pause:.0f} s")
            self.wait(pause)
        raise NotFinishedError(
            fault, hint="run the same command later: it goes on where it stopped"
        )


def _asked_pause(header: str, usual: float) -> float:
    """Return how long to wait: what the server asks for in seconds, else the usual pause."""
    return float(header) if header.isdigit() else usual
