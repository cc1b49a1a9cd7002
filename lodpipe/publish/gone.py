"""What stands where a document stood: tombstones, redirects, and lists of both for a web server.

A tombstone says since when, why where that is for the public, and nothing of what was there (410 Gone,
https://www.rfc-editor.org/rfc/rfc9110#name-410-gone). The lists have a line a path, percent-encoded
as in the request: `PATH VALUE;`, the form of a `map` file of common web servers.
"""

from collections.abc import Iterator, Mapping, Sequence
from urllib.parse import urlsplit

import orjson

from lodpipe.iris import key_of
from lodpipe.records import Tree

FOLDER = "gone"


def tombstone(uri: str, since: str, told: str = "") -> bytes:
    """Return what stands for a document that is no longer there.

    Args:
        since: the instant from which the first release without it was visible.
        told: why, in words for the public; empty where nothing is told.
    """
    made: Tree = {"id": uri, "type": "Tombstone", "status": 410, "gone_since": since}
    if told:
        made["reason"] = told
    return orjson.dumps(made, option=orjson.OPT_APPEND_NEWLINE)


def files(
    base: str, gone: Sequence[tuple[str, str, str]], moved: Mapping[str, str]
) -> Iterator[tuple[str, bytes]]:
    """Yield name and bytes of a tombstone a document, and of the lists; nothing if all is there.

    Args:
        gone: IRI, instant and public reason of each document that is gone, in IRI order.
        moved: new IRI by old.
    """
    for uri, since, told in gone:
        yield f"{FOLDER}/{key_of(base, uri)}.json", tombstone(uri, since, told)
    if gone:
        yield f"{FOLDER}.map", _lines({uri: "1" for uri, *_ in gone})
    if moved:
        yield "moved.map", _lines({old: urlsplit(new).path for old, new in moved.items()})
    if gone or moved:
        listed = {
            "gone": [
                {"id": uri, "since": since, **({"reason": told} if told else {})}
                for uri, since, told in gone
            ],
            "moved": [{"from": old, "to": new} for old, new in sorted(moved.items())],
        }
        yield f"{FOLDER}.json", orjson.dumps(listed, option=orjson.OPT_INDENT_2)


def _lines(values: Mapping[str, str]) -> bytes:
    lines = (f"{urlsplit(uri).path} {value};\n" for uri, value in sorted(values.items()))
    return "".join(lines).encode()
