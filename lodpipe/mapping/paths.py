"""Where a value stands: column names, JSON Pointer, JSONPath, XPath, compiled to plain Python.

JSON Pointer is RFC 6901 (https://www.rfc-editor.org/rfc/rfc6901), JSONPath RFC 9535
(https://www.rfc-editor.org/rfc/rfc9535), XPath 1.0. A JSONPath that leads to at most one value (a
singular query) is compiled like a pointer; the others go to the library.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import jsonpath
from lxml import etree

from lodpipe.errors import UsageError

TABLE, JSON, XML = "table", "json", "xml"
ANY, DEEP = "*", "**"
"""Steps of a shape: at most one step; any number of steps."""

Shape = tuple[str, ...]
"""A path by names alone, `("contributors", "fc")`: the elements of a list all have one shape."""

_SINGULAR = re.compile(
    r"""\.([A-Za-z_\u0080-\U0010ffff][\w\u0080-\U0010ffff]*)|\[\s*(?:'((?:[^'\\]|\\.)*)'|"((?:[^"\\]|\\.)*)"|(-?\d+))\s*\]"""
)
_JSON_STEPS = re.compile(
    r"""(\.\.)?\.?(?:([A-Za-z_\u0080-\U0010ffff][\w\u0080-\U0010ffff]*)|(\*)|\[\s*(?:'([^']*)'|"([^"]*)"|[^\]]*)\s*\])"""
)
_PREDICATE = re.compile(r"\[[^\[\]]*\]")


@dataclass(frozen=True, slots=True)
class Access:
    """How to get at the values that one `from` leads to, in one form of record.

    Attributes:
        first: returns the first value of a row, JSON value or element, None when there is none.
        every: returns all of them, each with its relative column.
        column: relative column, with the separator that joins it to its base.
        shape: its path without positions.
        many: whether it can lead to more than one value.
    """

    first: Callable[[Any], Any]
    every: Callable[[Any], list[tuple[Any, str]]]
    column: str
    shape: Shape
    many: bool


def access(expression: str, form: str, namespaces: Mapping[str, str]) -> Access:
    """Compile where a value stands.

    Args:
        expression: a bare name, or a path in the language of the form.
        form: `table`, `json` or `xml`.
        namespaces: prefixes that XPaths use.

    Raises:
        UsageError: not a path of that form.
    """
    if form == TABLE:
        return _column(expression)
    if form == JSON:
        return _json(expression)
    return _xpath(expression, namespaces)


def check_path(expression: str, namespaces: Mapping[str, str], form: str) -> None:
    """Refuse a path that cannot be read, as far as it shows before the form is known.

    Raises:
        UsageError: broken JSONPath, or broken XPath where the mapping is of XML.
    """
    if form == XML:
        access(expression, XML, namespaces)
    elif expression.startswith("$") and form != TABLE:
        access(expression, JSON, namespaces)


def _column(name: str) -> Access:
    def first(raw: Any) -> Any:
        return raw.get(name)

    def every(raw: Any) -> list[tuple[Any, str]]:
        return [(raw[name], name)] if name in raw else []

    return Access(first, every, name, (name,), False)


# --- JSON ---------------------------------------------------------------------------------


def _json(expression: str) -> Access:
    if expression == ".":
        return _itself()
    if expression.startswith("$"):
        steps = singular(expression)
        return _pointer(steps) if steps is not None else _query(expression)
    if expression.startswith("/"):
        return _pointer([_unescape(token) for token in expression[1:].split("/")])
    return _pointer([expression])


def _itself() -> Access:
    """The element of a list itself, where it is a plain value."""

    def first(raw: Any) -> Any:
        return None if raw.__class__ is dict or raw.__class__ is list else raw

    def every(raw: Any) -> list[tuple[Any, str]]:
        return [] if first(raw) is None else [(raw, "")]

    return Access(first, every, "", (".",), False)


def singular(expression: str) -> list[str | int] | None:
    """Return the steps of a singular query (RFC 9535 section 2.3.5.1), None for any other.

    >>> singular("$.a['b c'][0]"), singular("$.a[*]")
    (['a', 'b c', 0], None)
    """
    steps: list[str | int] = []
    position = 1
    while position < len(expression):
        match = _SINGULAR.match(expression, position)
        if match is None or "\\" in match.group() or (match[4] or "").startswith("-"):
            return None  # a place counted from the end is known only from the data
        name = next((text for text in match.groups()[:3] if text is not None), None)
        steps.append(int(match[4]) if name is None else name)
        position = match.end()
    return steps


def _unescape(token: str) -> str:
    return token.replace("~1", "/").replace("~0", "~")


def escape(token: str) -> str:
    """Return one step of a JSON Pointer, escaped (RFC 6901 section 3)."""
    return token.replace("~", "~0").replace("/", "~1")


def _pointer(steps: Any) -> Access:
    path = list(steps)
    column = "".join(f"/{escape(str(step))}" for step in path)
    shape = tuple(s for s in path if isinstance(s, str) and not s.isdigit())
    if len(path) == 1 and isinstance(path[0], str) and not path[0].isdigit():
        name = path[0]

        def first(raw: Any) -> Any:
            return raw.get(name) if raw.__class__ is dict else None
    else:

        def first(raw: Any) -> Any:
            for step in path:
                if raw.__class__ is dict:
                    raw = raw.get(step)
                elif raw.__class__ is list:
                    raw = _item(raw, step)
                else:
                    return None
            return raw

    def every(raw: Any) -> list[tuple[Any, str]]:
        value = first(raw)
        if value.__class__ is list:
            return [(item, f"{column}/{number}") for number, item in enumerate(value)]
        return [] if value is None else [(value, column)]

    return Access(first, every, column, shape, False)


def _item(values: list[Any], step: str | int) -> Any:
    if isinstance(step, str):
        if not step.isdigit() or (len(step) > 1 and step[0] == "0"):
            return None
        step = int(step)
    return values[step] if step < len(values) else None


def _query(expression: str) -> Access:
    try:
        query = jsonpath.compile(expression)
    except jsonpath.JSONPathError as error:
        reason = str(error).splitlines()[0].split(", line")[0]
        raise UsageError(
            f"`{expression}` is not a JSONPath: {reason}", hint="write it like `$.makers[*].name`"
        ) from error

    def every(raw: Any) -> list[tuple[Any, str]]:
        found: list[tuple[Any, str]] = []
        for node in query.finditer(raw):
            column = "".join(f"/{escape(str(part))}" for part in node.parts)
            value = node.value
            if value.__class__ is list:
                found.extend((item, f"{column}/{n}") for n, item in enumerate(value))
            elif value is not None:
                found.append((value, column))
        return found

    def first(raw: Any) -> Any:
        return next((value for value, _ in every(raw) if value not in ("", None)), None)

    return Access(first, every, "", _json_shape(expression), True)


def _json_shape(expression: str) -> Shape:
    shape: list[str] = []
    for match in _JSON_STEPS.finditer(expression, 1):
        if match[1]:
            shape.append(DEEP)
        shape.append(match[2] or match[4] or match[5] or ANY)
    return tuple(shape)


# --- XML ----------------------------------------------------------------------------------


def _xpath(expression: str, namespaces: Mapping[str, str]) -> Access:
    try:
        path = etree.XPath(expression, namespaces=dict(namespaces), smart_strings=False)
    except etree.XPathSyntaxError as error:
        raise UsageError(
            f"`{expression}` is not an XPath: {error}", hint="write it like `makers/maker/name`"
        ) from error
    column = expression if expression.startswith("/") else f"/{expression}"

    def found(raw: Any) -> list[Any]:
        """Elements, or what is no element as text."""
        try:
            result = path(raw)
        except etree.XPathEvalError as error:
            raise UsageError(
                f"`{expression}` is not an XPath here: {error}",
                hint="name the prefix under `namespaces`",
            ) from error
        return result if isinstance(result, list) else [string_value(result)]

    def first(raw: Any) -> Any:
        for value in found(raw):
            text = string_value(value)
            if text and not text.isspace():
                return text
        return None

    def every(raw: Any) -> list[tuple[Any, str]]:
        values = found(raw)
        if len(values) == 1:
            return [(values[0], column)]
        return [(value, f"{column}[{number}]") for number, value in enumerate(values, 1)]

    return Access(first, every, column, xpath_shape(expression), True)


def string_value(value: Any) -> str:
    """Return the string value of an XPath result (https://www.w3.org/TR/xpath-10/#dt-string-value)."""
    if isinstance(value, str):
        return value
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() else str(value)
    return "".join(value.itertext())


def xpath_shape(expression: str) -> Shape:
    """Return the steps of a location path without predicates and axes.

    >>> xpath_shape("lido:a[@b='c']//d/@e")
    ('lido:a', '**', 'd', '@e')
    """
    text = _PREDICATE.sub("", expression)
    while _PREDICATE.search(text):
        text = _PREDICATE.sub("", text)
    shape: list[str] = []
    for number, step in enumerate(text.split("/")):
        if step in (".", "text()") or (step == "" and number == 0):
            continue
        if step == "":
            shape.append(DEEP)
        else:
            step = step.replace("attribute::", "@").replace("child::", "")
            shape.append("@*" if step == "@*" else step)
    if expression.startswith("//"):
        shape = [DEEP, *(s for s in shape[1:])] if shape[:1] == [DEEP] else [DEEP, *shape]
    return tuple(shape)
