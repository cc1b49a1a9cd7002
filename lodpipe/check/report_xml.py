"""The report as JUnit XML, which build servers show.

One test case a shape. A shape that found something at the gate is a failure, one that met no node
is skipped and never passed, and what lies below the gate stands in the case's output.
There is no standard; the elements are those of the schema that most servers read
<https://github.com/junit-team/junit5/blob/main/platform-tests/src/test/resources/jenkins-junit.xsd>.
"""

from collections.abc import Iterable, Sequence

from lxml import etree

from lodpipe.check.report import (
    About,
    Entry,
    Group,
    counted,
    groups,
    headline,
    shortened,
)
from lodpipe.check.shapes import short_name
from lodpipe.findings import at_least

_EXAMPLES = 20
_BROKEN = dict.fromkeys((*range(9), 11, 12, *range(14, 32), 0xFFFE, 0xFFFF), "\ufffd")
"""Characters that XML 1.0 cannot hold (section 2.2)."""


def as_junit(entries: Sequence[Entry], about: About) -> bytes:
    """Return the report as JUnit XML."""
    by_shape: dict[str, list[Group]] = {}
    for group in groups(entries):
        by_shape.setdefault(group.shape, []).append(group)
    names = sorted({*about.messages, *about.focus, *by_shape})
    cases = [_case(name, by_shape.get(name, []), about) for name in names]
    failures = sum(case.find("failure") is not None for case in cases)
    skipped = sum(case.find("skipped") is not None for case in cases)
    counts = {"tests": str(len(cases)), "failures": str(failures), "errors": "0"}
    suite = etree.Element(
        "testsuite", {"name": _text(about.title), "skipped": str(skipped)} | counts
    )
    properties = etree.SubElement(suite, "properties")
    for name, value in {**about.hashes(), "summary": headline(entries, about)}.items():
        etree.SubElement(properties, "property", name=name, value=_text(value))
    suite.extend(cases)
    root = etree.Element("testsuites", {"name": "lodpipe check"} | counts)
    root.append(suite)
    made: bytes = etree.tostring(root, xml_declaration=True, encoding="UTF-8", pretty_print=True)
    return made


def _case(name: str, found: list[Group], about: About) -> etree._Element:
    nodes = about.focus.get(name, 0)
    case = etree.Element(
        "testcase",
        classname="shapes",
        name=_text(short_name(name)),
        assertions=str(nodes),
        time="0",
    )
    stopping = [group for group in found if at_least(group.severity, about.gate)]
    others = [group for group in found if group not in stopping]
    if stopping:
        worst = stopping[0]
        count = sum(len(group.entries) for group in stopping)
        failure = etree.SubElement(
            case,
            "failure",
            type=worst.severity,
            message=_text(f"{counted(count, 'result')}: {worst.message}"),
        )
        failure.text = _text(_details(stopping))
    elif not nodes and not found:
        etree.SubElement(case, "skipped", message="met no node: it checked nothing")
    if others:
        etree.SubElement(case, "system-out").text = _text(_details(others))
    return case


def _details(found: Iterable[Group]) -> str:
    lines: list[str] = []
    for group in found:
        lines.append(f"{len(group.entries)} x {group.severity} {group.path}: {group.message}")
        for entry in group.entries[:_EXAMPLES]:
            lines.append(f"  {entry.where()} `{shortened(entry.value)}` {entry.uri}")
        if len(group.entries) > _EXAMPLES:
            lines.append(f"  and {len(group.entries) - _EXAMPLES:,} more")
    return "\n".join(lines)


def _text(text: str) -> str:
    return text.translate(_BROKEN)
