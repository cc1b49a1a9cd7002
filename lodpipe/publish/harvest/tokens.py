"""Resumption tokens of OAI-PMH: everything that the next page needs, so that no server state is.

https://www.openarchives.org/OAI/openarchivesprotocol.html#FlowControl. A token names a release
and the last key that was given: asked again it gives the same page, also after a restart.
"""

import base64
import binascii
from dataclasses import astuple, dataclass, fields

import orjson

from lodpipe.errors import ValueFault

MOST = 2_000
"""Characters of a token; IRIs are much shorter."""


class TokenFault(ValueFault):
    """A token that this archive never gave."""

    code = "token"


@dataclass(frozen=True, slots=True)
class Token:
    """Where a list goes on.

    `first` and `last` are the releases that `from` and `until` mean; `at` and `uri` the last key
    that was given; `given` and `size` how many were given and there are in all.
    """

    release: int
    format: str
    set: str
    first: int
    last: int
    at: int
    uri: str
    given: int
    size: int

    def __str__(self) -> str:
        return base64.urlsafe_b64encode(orjson.dumps(astuple(self))).decode().rstrip("=")


def read(text: str) -> Token:
    """Return the token of a text.

    Raises:
        TokenFault: it is none of ours.
    """
    fault = TokenFault(f"`{text[:40]}` is no resumption token of this repository")
    if len(text) > MOST or not text.isascii():
        raise fault
    try:
        values = orjson.loads(base64.b64decode(text + "=" * (-len(text) % 4), b"-_", validate=True))
    except (binascii.Error, orjson.JSONDecodeError) as error:
        raise fault from error
    kinds = [field.type for field in fields(Token)]
    if not isinstance(values, list) or [type(value) for value in values] != kinds:
        raise fault
    token = Token(*values)
    if any(type(value) is int and not 0 <= value < 1 << 62 for value in values):
        raise fault
    return token
