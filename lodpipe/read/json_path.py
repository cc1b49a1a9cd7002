"""The part of JSONPath (RFC 9535) that leads to records without holding the document in memory.

https://www.rfc-editor.org/rfc/rfc9535#section-2.3: child names, the wildcard and indexes from
the front. Filters, slices, `..` and negative indexes would have to see what follows; they are
refused, not approximated.
"""

import json
import re

from lodpipe.errors import UsageError

ANY = None
"""The step `[*]`: every element of an array, every member of an object."""

Step = str | int | None

_SEGMENT = re.compile(
    r"\.(?P<name>[^\W\d][\w]*|\*)"
    r"|\[\s*(?:(?P<any>\*)|(?P<index>0|[1-9]\d*)"
    r"|\"(?P<double>(?:[^\"\\]|\\.)*)\"|'(?P<single>(?:[^'\\]|\\.)*)')\s*\]"
)


def steps_of(path: str, name: str) -> tuple[Step, ...]:
    """Return the steps of a path: member names, indexes, `ANY`.

    Args:
        path: such as `$[*]`, `$.objects[*]`, `$['list of things'][0].parts[*]`.
        name: of the file, for messages.

    Raises:
        UsageError: not a JSONPath, or a part of it that a stream cannot follow.

    >>> steps_of("$.objects[*]", "catalogue.json")
    ('objects', None)
    """
    if not path.startswith("$"):
        raise UsageError(
            f"`{path}` is not a JSONPath, declared as `records` of `{name}`",
            hint=f"begin with `$`: `$.{path.strip('./') or 'objects'}[*]`",
        )
    steps: list[Step] = []
    position = 1
    while position < len(path):
        found = _SEGMENT.match(path, position)
        if found is None:
            raise UsageError(
                f"`{path[position:]}` in `{path}` cannot be followed in a stream, declared as "
                f"`records` of `{name}`",
                hint="write member names, `[*]` and indexes only, such as `$.objects[*]`",
            )
        steps.append(_step(found))
        position = found.end()
    return tuple(steps)


def _step(found: re.Match[str]) -> Step:
    if found["index"]:
        return int(found["index"])
    if found["any"] or found["name"] == "*":
        return ANY
    if found["name"]:
        return found["name"]
    if found["double"] is not None:
        return str(json.loads(f'"{found["double"]}"'))
    plain = found["single"].replace("\\'", "'").replace('"', '\\"')
    return str(json.loads(f'"{plain}"'))


def pointer_of(keys: tuple[str | int, ...]) -> str:
    """Return a JSON Pointer, https://www.rfc-editor.org/rfc/rfc6901#section-3."""
    return "".join("/" + str(key).replace("~", "~0").replace("/", "~1") for key in keys)
