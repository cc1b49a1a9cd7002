"""The nodes of one document that claims can be about: found by role, made where they are missing."""

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
        self._found: dict[str, tuple[Tree, str]] = {}
        self._look()

    def _look(self) -> None:
        """Note each node under its roles; the more special node goes before the production."""
        production = self._tree.get("produced_by")
        if production is not None:
            for number, node in enumerate(production.get("part", ())):
                self._note(node, f"/produced_by/part/{number}")
            self._note(production, "/produced_by")
            self._found.setdefault(PRODUCTION, (production, "/produced_by"))
        for number, node in enumerate(self._tree.get("modified_by", ())):
            self._note(node, f"/modified_by/{number}")

    def _note(self, node: Tree, pointer: str) -> None:
        found = (node, pointer)
        own = node.get("id", "").partition("#")[2]
        if own:
            self._found.setdefault(own, found)
        for kind in node.get("classified_as", ()):
            iri = kind.get("id", "")
            if iri.startswith(self._role_iri):
                self._found.setdefault(iri.removeprefix(self._role_iri), found)

    def roles(self) -> tuple[str, ...]:
        """Return the roles of the nodes that the document has."""
        return tuple(self._found)

    def find(self, role: str) -> tuple[Tree, str] | None:
        """Return the node of a role and its JSON Pointer; None when the document has none."""
        return (self._tree, "") if role == RECORD else self._found.get(role)

    def get(self, role: str) -> tuple[Tree, str]:
        """Return the node of a role and its pointer; make it, with its IRI, where it is missing."""
        found = self.find(role)
        document = self._tree["id"]
        if found is not None:
            if "id" not in found[0]:
                own = PRODUCTION if found[1] == "/produced_by" else role
                found[0]["id"] = f"{document}#{own}"
            return found
        siblings: list[Tree]
        if role in MODIFICATIONS:
            siblings, pointer = self._tree.setdefault("modified_by", []), "/modified_by"
        else:
            production = self._production()
            if role == PRODUCTION:
                return production, "/produced_by"
            siblings, pointer = production.setdefault("part", []), "/produced_by/part"
        siblings.append(self._nodes.role(document, role))
        made = self._found[role] = (siblings[-1], f"{pointer}/{len(siblings) - 1}")
        return made

    def _production(self) -> Tree:
        production: Tree = self._tree.setdefault("produced_by", {"type": "Production"})
        production.setdefault("id", f"{self._tree['id']}#{PRODUCTION}")
        self._found.setdefault(PRODUCTION, (production, "/produced_by"))
        return production
