"""Claims in published N-Quads: quoted exactly, and stated directly if, and only if, they hold.

For every claim the proposition has the node of P140i as subject, the value of P177 as predicate
and the value of P141 as object. The same triple (or, for a time span or a name, one that says the
same) stands directly on the node when the claim is current and unhedged, and otherwise does not.
"""

from collections.abc import Iterable

import pyoxigraph as ox
from conformance.crm import CRM
from conformance.naive import Statement, likenesses, store_of, values
from conformance.naive import holds as claim_holds

CRMINF = "http://www.cidoc-crm.org/extensions/crminf/"
RDF = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"


def claims(lines: Iterable[str]) -> tuple[list[str], dict[bool, int]]:
    """Return the faults of all claims in N-Quads lines, and how many hold (True) and do not.

    A value that is doubted in one claim may be stated because another claim on the same node
    holds; that is no fault.
    """
    store = store_of(lines)
    faults: list[str] = []
    count = {True: 0, False: 0}
    carried = store.quads_for_pattern(None, ox.NamedNode(CRM + "P140i_was_attributed_by"), None)
    said = [
        (claim_holds(store, quad.object.value), quad.object.value, statement)
        for quad in carried
        for statement in _statements(store, quad.subject.value, quad.object.value)
    ]
    settled = {
        (node, key, same)
        for holds, _, (node, key, value) in said
        if holds
        for same in likenesses(store, value)
    }
    for holds, claim, (node, key, value) in said:
        count[holds] += 1
        if (node, key, value) not in _quoted(store, claim):
            faults.append(f"{claim}: is not quoted as it stands")
        same = likenesses(store, value)
        stated = any(same & likenesses(store, other) for other in values(store, node, key))
        excused = any((node, key, one) in settled for one in same)
        if stated != (holds or excused):
            faults.append(f"{claim}: is {'' if stated else 'not '}stated directly")
    return sorted(faults), count


def _statements(store: ox.Store, node: str, claim: str) -> list[Statement]:
    return [
        (node, key, value)
        for key in values(store, claim, CRM + "P177_assigned_property_of_type")
        for value in values(store, claim, CRM + "P141_assigned")
    ]


def _quoted(store: ox.Store, claim: str) -> set[Statement]:
    return {
        (subject, predicate, target)
        for belief in values(store, claim, CRMINF + "J2_concluded_that")
        for proposition in values(store, belief, CRMINF + "J4_that")
        for subject in values(store, proposition, RDF + "subject")
        for predicate in values(store, proposition, RDF + "predicate")
        for target in values(store, proposition, RDF + "object")
    }
