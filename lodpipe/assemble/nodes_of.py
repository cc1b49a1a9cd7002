"""The nodes of one document that claims can be about: found by role, made where they are missing."""

from collections.abc import Container, Iterable, Iterator
from typing import NamedTuple

from lodpipe.aspects import RECORD
from lodpipe.nodes import MODIFICATIONS, Nodes
from lodpipe.records import Tree

PRODUCTION = "production"

Found = tuple[Tree, str]
"""A node and its JSON Pointer."""


class Reached(NamedTuple):
    """A node, its JSON Pointer and its roles: none for the whole and for parts that say no role."""

    node: Tree
    pointer: str
    roles: tuple[str, ...]


class DocumentNodes:
    """Finds the nodes of a document, each with its JSON Pointer.

    A claim brings its node with it: id, type and role, nothing more.
    """

    def __init__(self, tree: Tree, nodes: Nodes) -> None:
        self._tree = tree
        self._nodes = nodes
        self._role_iri = nodes.absolute("vocab/role/")
        self._found: dict[str, Found] = {}
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
        for role in self._roles_of(node):
            self._found.setdefault(role, found)

    def _roles_of(self, node: Tree) -> tuple[str, ...]:
        kinds = [kind.get("id", "") for kind in node.get("classified_as", ())]
        start = self._role_iri
        return tuple(iri.removeprefix(start) for iri in kinds if iri.startswith(start))

    def roles(self) -> tuple[str, ...]:
        """Return the roles of the nodes that the document has."""
        return tuple(self._found)

    def find(self, role: str) -> Found | None:
        """Return the node of a role and its JSON Pointer; None when the document has none."""
        return (self._tree, "") if role == RECORD else self._found.get(role)

    def reach(self, role: str, main: Container[str] = ()) -> list[Reached]:
        """Return the nodes on which a value reads like one of a role, the node of the role first.

        Those are the nodes of the role itself, the production as a whole, and parts that say no
        role: whoever asks who made the thing meets what stands there, whatever it was meant for.

        Args:
            main: roles that what is said of the production as a whole is about.
        """
        own = self.find(role)
        nodes: list[Reached] = []
        if own is not None:
            named = self._roles_of(own[0]) or (() if role == PRODUCTION else (role,))
            nodes.append(Reached(*own, named))
        if role == RECORD:
            return nodes
        modified = self._tree.get("modified_by", ())
        events: Iterable[Found] = _parts(self._tree.get("produced_by"), "/produced_by")
        if role in MODIFICATIONS:
            events = [(node, f"/modified_by/{number}") for number, node in enumerate(modified)]
        for node, pointer in events:
            roles = self._roles_of(node)
            meant = not roles or role in roles
            meant = meant or (role == PRODUCTION and any(name in main for name in roles))
            if meant and (own is None or node is not own[0]):
                nodes.append(Reached(node, pointer, roles))
        return nodes

    def get(self, role: str) -> Found:
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


def _parts(node: Tree | None, pointer: str) -> Iterator[Found]:
    """Yield a production and its parts, at every depth."""
    if node is not None:
        yield node, pointer
        for number, part in enumerate(node.get("part", ())):
            yield from _parts(part, f"{pointer}/part/{number}")
