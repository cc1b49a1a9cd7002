"""A store of triples over HTTP: graphs by the Graph Store Protocol, questions by SPARQL.

https://www.w3.org/TR/sparql11-http-rdf-update/ (sections 4.1 direct and 4.2 indirect graph
identification, 5.3 PUT, 5.4 DELETE); https://www.w3.org/TR/sparql11-protocol/, section 2.1.2.
"""

import os
from dataclasses import dataclass, field
from urllib.parse import urlsplit

import requests
from requests.auth import AuthBase, HTTPBasicAuth, HTTPDigestAuth
from requests.utils import get_netrc_auth

from lodpipe.errors import UsageError
from lodpipe.patience import AGENT, TIMEOUT, Patience

USER, PASSWORD = "LODPIPE_STORE_USER", "LODPIPE_STORE_PASSWORD"
"""Environment variables; where they are not set, the user's netrc file is asked."""
TRIPLES = "application/n-triples"
RESULTS = "application/sparql-results+json"
GONE = (404, 410)
REASON_CHARS = 200
Row = dict[str, str]


class _Nobody(AuthBase):
    """No user: a password is sent only to who asks for one, in the way that is asked for."""

    def __call__(self, request: requests.PreparedRequest) -> requests.PreparedRequest:
        return request


@dataclass(slots=True)
class GraphStore:
    """One store.

    Attributes:
        url: of the graph store. `query`: where the store answers SPARQL queries.
        base: direct graph identification: a graph is asked for at `url` and what its IRI has
            after this base; empty: at `url` with `?graph=`.
    """

    url: str
    query: str
    base: str = ""
    patience: Patience = field(default_factory=Patience)
    _session: requests.Session = field(default_factory=requests.Session)

    def __post_init__(self) -> None:
        for url in (self.url, self.query):
            parts = urlsplit(url)
            if parts.scheme not in ("http", "https") or not parts.hostname:
                raise UsageError(
                    f"`{url}` is not an address of a store", hint="write `http://host/path`"
                )
            if parts.password is not None:
                raise UsageError(
                    "a password in an address is seen by everybody on this machine",
                    hint=f"set {USER} and {PASSWORD}, or write it into ~/.netrc",
                )
        if self.base and not self.url.endswith("/"):
            raise UsageError(
                f"`{self.url}` cannot take the place of the base", hint="end it with `/`"
            )
        self._session.auth = _Nobody()
        self._session.headers["User-Agent"] = AGENT

    def put(self, graph: str, triples: bytes) -> None:
        """Make a graph hold these triples and no others.

        Raises:
            UsageError: the store refuses. NotFinishedError: it cannot be reached.
        """
        self._send("PUT", self.url, graph, data=triples, headers={"Content-Type": TRIPLES})

    def delete(self, graph: str) -> None:
        """Take a graph away; one that is not there is as good."""
        self._send("DELETE", self.url, graph)

    def select(self, query: str) -> list[Row]:
        """Return the answers to a SELECT query: for each the texts of its variables."""
        answer = self._send("POST", self.query, data={"query": query}, headers={"Accept": RESULTS})
        try:
            bindings = answer.json()["results"]["bindings"]
            return [{name: one["value"] for name, one in row.items()} for row in bindings]
        except (ValueError, KeyError, TypeError, AttributeError) as error:
            raise UsageError(
                f"{self.query} does not answer SPARQL queries in JSON",
                hint="name the address of queries with `--query`",
            ) from error

    def _send(
        self,
        method: str,
        url: str,
        graph: str = "",
        data: bytes | Row | None = None,
        headers: Row | None = None,
    ) -> requests.Response:
        address, params = url, {}
        if graph and self.base:
            address = url + graph.removeprefix(self.base)
        elif graph:
            params = {"graph": graph}

        def send() -> requests.Response:
            return self._session.request(
                method, address, params=params, data=data, headers=headers,
                timeout=TIMEOUT, allow_redirects=False,
            )  # fmt: skip

        def read(answer: requests.Response) -> requests.Response:
            if answer.status_code == requests.codes.unauthorized and self._introduce(answer, url):
                return self.patience.ask(url, send, read)
            if answer.ok and not answer.is_redirect:
                return answer
            if method == "DELETE" and answer.status_code in GONE:
                return answer
            raise _refusal(answer, method, url, graph)

        return self.patience.ask(url, send, read)

    def _introduce(self, answer: requests.Response, url: str) -> bool:
        """Say from now on who asks, as the store wants it; False where it knows and refuses."""
        if not isinstance(self._session.auth, _Nobody):
            return False
        found = os.environ.get(USER), os.environ.get(PASSWORD)
        user, password = found if all(found) else get_netrc_auth(url) or ("", "")
        if not user or password is None:
            raise UsageError(
                f"{url} asks who is there",
                hint=f"set {USER} and {PASSWORD}, or write them into ~/.netrc",
            )
        wanted = answer.headers.get("WWW-Authenticate", "").lower()
        scheme = HTTPDigestAuth if "digest" in wanted else HTTPBasicAuth
        if scheme is HTTPBasicAuth and urlsplit(url).scheme == "http":
            self.patience.say(
                f"{url} takes the password in the clear: use https where others listen"
            )
        self._session.auth = scheme(user, password)
        return True


def _refusal(answer: requests.Response, method: str, url: str, graph: str) -> UsageError:
    status = answer.status_code
    what = f"{url} answers {status}" + (f" to {method} of `{graph}`" if graph else "")
    if answer.is_redirect:
        return UsageError(
            what, hint=f"name the address that it leads to: {answer.headers['Location']}"
        )
    if status in (requests.codes.unauthorized, requests.codes.forbidden):
        return UsageError(what, hint="the store does not let this user do that")
    if status in (*GONE, requests.codes.method_not_allowed, requests.codes.not_implemented):
        return UsageError(what, hint="look whether this is the address of a graph store")
    reason = " ".join(answer.text.split())[:REASON_CHARS]
    return UsageError(
        f"{what}: {reason}" if reason else what,
        hint="look at the address, and whether the store lets you write",
    )
