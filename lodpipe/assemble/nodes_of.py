"""The nodes of one document that claims can be about: found by role, made where they are missing."""

from typing import Any

from lodpipe.aspects import RECORD
from lodpipe.nodes import MODIFICATIONS, Nodes
from lodpipe.records import Tree

PRODUCTION = "production"


class DocumentNodes:
    """Finds the nodes of a document, each with its JSON Pointer.

    A claim brings its node with it: id, type and role, nothing more.
    """

    def __init__(self, tree: Tree, nodes: Nodes) -> None:
        self._tree = tree
        self._nodes = nodes
        self._role_iri = nodes.absolute("vocab/role/")

    def roles(self) -> tuple[str, ...]:
        """Return the roles of the nodes that the document has."""
        production = self._tree.get("produced_by")
        found = []
        if production is not None:
            found.append(PRODUCTION)
            for node in (production, *production.get("part", ())):
                found.extend(self._roles_of(node))
        for node in self._tree.get("modified_by", ()):
            found.extend(self._roles_of(node))
        return tuple(dict.fromkeys(found))

    def _roles_of(self, node: Tree) -> list[str]:
        iris = [kind.get("id", "") for kind in node.get("classified_as", ())]
        found = [iri.removeprefix(self._role_iri) for iri in iris if iri.startswith(self._role_iri)]
        own = node.get("id", "").partition("#")[2]
        return [*found, own] if own else found

    def find(self, role: str) -> tuple[Tree, str] | None:
        """Return the node of a role and its JSON Pointer; None when the document has none."""
        if role == RECORD:
            return self._tree, ""
        if role in MODIFICATIONS:
            return self._among(self._tree.get("modified_by", ()), role, "/modified_by")
        production = self._tree.get("produced_by")
        if production is None:
            return None
        if role == PRODUCTION:
            return production, "/produced_by"
        found = self._among(production.get("part", ()), role, "/produced_by/part")
        if found is None and role in self._roles_of(production):
            return production, "/produced_by"
        return found

    def _among(self, nodes: Any, role: str, pointer: str) -> tuple[Tree, str] | None:
        for number, node in enumerate(nodes):
            if role in self._roles_of(node):
                return node, f"{pointer}/{number}"
        return None

    def get(self, role: str) -> tuple[Tree, str]:
        """Return the node of a role and its pointer; make it, with its IRI, where it is missing."""
        found = self.find(role)
        document = self._tree["id"]
        if found is not None:
            if role != RECORD:
                own = PRODUCTION if found[1] == "/produced_by" else role
                found[0].setdefault("id", f"{document}#{own}")
            return found
        if role in MODIFICATIONS:
            siblings, pointer = self._tree.setdefault("modified_by", []), "/modified_by"
        else:
            production = self._production()
            if role == PRODUCTION:
                return production, "/produced_by"
            siblings, pointer = production.setdefault("part", []), "/produced_by/part"
        siblings.append(self._nodes.role(document, role))
        return siblings[-1], f"{pointer}/{len(siblings) - 1}"

    def _production(self) -> Tree:
        production: Tree = self._tree.setdefault("produced_by", {"type": "Production"})
        production.setdefault("id", f"{self._tree['id']}#{PRODUCTION}")
        return production
