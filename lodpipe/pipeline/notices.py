"""Notices: what a community asks readers to know before they look, in its own words."""

from collections.abc import Sequence

from lodpipe.errors import TermError
from lodpipe.evidence import NoticeText
from lodpipe.findings import Report, finding_of
from lodpipe.nodes import Nodes
from lodpipe.records import Tree

TERM = "community-notice"


def put_notices(tree: Tree, notices: Sequence[NoticeText], nodes: Nodes, report: Report) -> None:
    """State the notices in a document, in place, as the mapping of a notice in a source does.

    They stand at the end of `referred_to_by`, so that nothing moves; what shows a picture puts
    them in front of it. Whose notice it is, and whom to ask, are its name and a note.
    """
    if not notices:
        return
    said = tree.setdefault("referred_to_by", [])
    known = {(one.get("content"), str(one.get("language"))) for one in said}
    for notice in notices:
        node = _statement(notice, nodes, report)
        if (notice.text, str(node.get("language"))) not in known:
            said.append(node)


def _statement(notice: NoticeText, nodes: Nodes, report: Report) -> Tree:
    try:
        node = nodes.statement(notice.text, TERM, notice.language)
    except TermError as fault:  # the words stand all the same
        report(finding_of(fault, notice.place.at("language"), code="access"))
        node = nodes.statement(notice.text, TERM)
    if notice.authority:
        node["identified_by"] = [nodes.name(notice.authority)]
    if notice.contact:
        node["referred_to_by"] = [nodes.statement(notice.contact, "description")]
    return node
