"""Asks image services in other places for their `info.json`: size, version, level of compliance.

https://iiif.io/api/image/3.0/#51-image-information-request
"""

from dataclasses import dataclass, field

import requests

from lodpipe.errors import UsageError
from lodpipe.patience import AGENT, TIMEOUT, Patience

MOST_BYTES = 1_000_000
"""Of an answer; those of services have a few thousand."""


@dataclass(frozen=True, slots=True)
class Services:
    """Image services, asked over one connection each."""

    patience: Patience = field(default_factory=Patience)
    session: requests.Session = field(default_factory=requests.Session)

    def ask(self, service: str) -> bytes:
        """Return the `info.json` of a service as it is.

        Raises:
            UsageError: the service does not have one, or it is too large.
            NotFinishedError: no answer, however often it is tried.
        """
        url = f"{service}/info.json"
        headers = {"User-Agent": AGENT, "Accept": "application/ld+json, application/json"}
        return self.patience.ask(
            url,
            lambda: self.session.get(url, headers=headers, timeout=TIMEOUT, stream=True),
            lambda answer: _read(url, answer),
        )


def _read(url: str, answer: requests.Response) -> bytes:
    if answer.status_code != 200:
        raise UsageError(
            f"{url} answers {answer.status_code}", hint="look whether the service is named right"
        )
    body = answer.raw.read(MOST_BYTES + 1, decode_content=True)
    if len(body) > MOST_BYTES:
        raise UsageError(
            f"{url} has more than {MOST_BYTES} bytes",
            hint="look whether this is an image service",
        )
    return bytes(body)
