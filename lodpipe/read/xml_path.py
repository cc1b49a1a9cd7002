"""The part of XPath 1.0 that leads to record elements while the file is still being read.

https://www.w3.org/TR/1999/REC-xpath-19991116/#location-paths: element names with prefixes and
`*`, joined by `/` and `//`; `|` between several of them. A predicate would have to see what
follows; it is refused.
"""

import re
from collections.abc import Mapping

from lxml import etree

from lodpipe.errors import UsageError, nearest

_STEP = re.compile(r"(//?)?((?:[\w.\-]+:)?(?:[\w.\-]+|\*))")


class ElementPath:
    """Tells whether an element is a record.

    Args:
        path: `/lidoWrap/lido` from the outermost element, `//lido` or `lido` anywhere,
            `//c01 | //c02` either.
        namespaces: prefix to IRI. `name`: of the file, for messages.

    Raises:
        UsageError: not such a path, or a prefix without namespace.
    """

    def __init__(self, path: str, namespaces: Mapping[str, str], name: str) -> None:
        self._paths = [_steps(one.strip(), namespaces, name) for one in path.split("|")]
        self.last = [steps[-1][1] for steps in self._paths]
        """Tags that a record may have."""

    def matches(self, element: etree._Element) -> bool:
        """Return whether the path leads to this element."""
        tags = [element.tag, *(above.tag for above in element.iterancestors())]
        tags.reverse()
        return any(_leads(steps, len(steps), tags, len(tags)) for steps in self._paths)


def _steps(path: str, namespaces: Mapping[str, str], name: str) -> list[tuple[bool, str]]:
    """Return the steps of one path: whether it may lie deeper, and its tag."""
    steps: list[tuple[bool, str]] = []
    position = 0
    while position < len(path) or not steps:
        found = _STEP.match(path, position)
        if found is None or (position and not found[1]):
            raise UsageError(
                f"`{path[position:]}` in `{path}` cannot be followed while reading, declared "
                f"as `records` of `{name}`",
                hint="write element names joined by `/` or `//`, such as `/list/item`",
            )
        steps.append((found[1] != "/", _tag(found[2], namespaces, name)))
        position = found.end()
    return steps


def _leads(steps: list[tuple[bool, str]], count: int, tags: list[str], depth: int) -> bool:
    """Return whether the first `count` steps lead to the last of the first `depth` tags."""
    if not count:
        return not depth
    deeper, tag = steps[count - 1]
    if not depth or not _same(tag, tags[depth - 1]):
        return False
    if not deeper:
        return _leads(steps, count - 1, tags, depth - 1)
    if count == 1:
        return True
    return any(_leads(steps, count - 1, tags, above) for above in range(depth - 1, 0, -1))


def _same(wanted: str, tag: str) -> bool:
    if wanted == "*":
        return True
    if wanted.endswith("}*"):
        return tag.startswith(wanted[:-1])
    return wanted == tag


def _tag(step: str, namespaces: Mapping[str, str], name: str) -> str:
    prefix, colon, local = step.rpartition(":")
    if not colon:
        return local
    if prefix not in namespaces:
        raise UsageError(
            f"the prefix `{prefix}` of `{step}` has no namespace, in `records` of `{name}`",
            hint=nearest(prefix, namespaces) or "declare it under `namespaces` of the mapping",
        )
    return f"{{{namespaces[prefix]}}}{local}"


def place_of(element: etree._Element, number: int, prefixes: Mapping[str, str]) -> str:
    """Return an XPath of a record element.

    Args:
        number: position of the record in the whole file. What lies before it has been forgotten,
            so the path counts only inside the outermost record.
        prefixes: IRI to prefix.
    """
    return f"({_shown(element, prefixes)})[{number}]"


def path_below(record: etree._Element, inner: etree._Element, prefixes: Mapping[str, str]) -> str:
    """Return the XPath that leads from a record to an element in it, empty for itself."""
    names = []
    step = inner
    while step is not record:
        above = step.getparent()
        assert above is not None
        same = [one for one in above if one.tag == step.tag]
        position = f"[{same.index(step) + 1}]" if len(same) > 1 else ""
        names.append(f"/{_name(step, prefixes)}{position}")
        step = above
    return "".join(reversed(names))


def _shown(element: etree._Element, prefixes: Mapping[str, str]) -> str:
    names = []
    step: etree._Element | None = element
    while step is not None:
        names.append(_name(step, prefixes))
        step = step.getparent()
    return "/" + "/".join(reversed(names))


def _name(element: etree._Element, prefixes: Mapping[str, str]) -> str:
    name = etree.QName(element)
    prefix = prefixes.get(name.namespace or "", element.prefix or "")
    return f"{prefix}:{name.localname}" if prefix else name.localname
