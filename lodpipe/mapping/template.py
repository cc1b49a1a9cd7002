"""Templates: trees in the shape of Linked Art, compiled to closures that fill them.

A node whose placeholders are all empty is left out, and a list loses its empty members. Whether
any placeholder of a node was filled shows in the trace, which grows with each filled one.
"""

from typing import Any

from lodpipe.errors import TermError, nearest
from lodpipe.mapping import language as words
from lodpipe.mapping.compiler import Compiler
from lodpipe.mapping.keys import CLASSES, LITERALS, known_keys, takes_list
from lodpipe.mapping.pieces import Piece, constant, filled, listed
from lodpipe.mapping.spaces import Ref, Run, Scope, Space
from lodpipe.mapping.special import (
    compile_language,
    compile_looked_up,
    compile_ref,
    compile_sizes,
    compile_term,
    compile_timespan,
    known_class,
)
from lodpipe.mapping.texts import Make, compile_text
from lodpipe.mapping.uris import compile_uri
from lodpipe.mapping.when import Condition, compile_when
from lodpipe.mapping.yaml_nodes import Node
from lodpipe.nodes import MODIFICATIONS


class Templates:
    """Compiles the nodes of one mapping."""

    def __init__(self, compiler: Compiler) -> None:
        self.compiler = compiler

    # --- any value ------------------------------------------------------------------------

    def value(self, node: Node, key: str, class_name: str, space: Space) -> Piece | None:
        """Compile what stands under a key; None after a fault."""
        if node.is_list:
            return self._list(node, key, class_name, space)
        if node.is_map:
            return self.node(node, key, class_name, space)
        return self._scalar(node, key, space)

    def _scalar(self, node: Node, key: str, space: Space) -> Piece | None:
        faults, value = self.compiler.faults, node.value
        if key == "language":
            return compile_language(node, space, self.compiler)
        if isinstance(value, bool) or value is None:
            told = "nothing" if value is None else f"`{str(value).lower()}`"
            faults.add(node, f"{told} under `{key}`", "write a text, or leave the key out")
            return None
        if isinstance(value, int | float):
            return constant(value)
        if key == "id":
            uri = compile_uri(node, space, self.compiler)
            if uri is None or uri.constant is None:
                return None if uri is None else Piece(make=uri.make)
            return constant(uri.constant)
        if key not in LITERALS and key != "type":
            faults.add(
                node,
                f"`{key}` takes a node, not a text",
                "write {term: ...}, {ref: ...}, {lookup: ...} or a node with a `type`",
            )
            return None
        text = compile_text(node, space, self.compiler)
        if text is None or not text.constant:
            return None if text is None else Piece(make=text.make, fixed=text.constant == "")
        return constant(text.constant)

    def _list(self, node: Node, key: str, class_name: str, space: Space) -> Piece | None:
        pieces = [self.value(item, key, class_name, space) for item in node.value]
        found = [piece for piece in pieces if piece is not None]
        if len(found) < len(pieces):
            return None
        adds = [piece.into() for piece in found]

        def spread(scope: Scope, run: Run, path: str, out: list[Any]) -> None:
            for add in adds:
                add(scope, run, path, out)

        same = [piece.constant for piece in found if piece.spread is None]
        whole = len(same) == len(found) and None not in same
        return Piece(
            spread=spread,
            fixed=all(piece.fixed for piece in found),
            constant=same if whole else None,
        )

    # --- nodes ----------------------------------------------------------------------------

    def node(self, node: Node, key: str, class_name: str, space: Space) -> Piece | None:
        """Compile a mapping: a plain node, or one of the special ones."""
        keys = node.value
        compiler = self.compiler
        if len(keys) == 1 and next(iter(keys.values())).value is None:
            compiler.unquoted(node)
            return None
        if "each" in keys:
            return self._each(node, key, class_name, space)
        if "when" in keys:
            return self._when(node, key, class_name, space)
        if "node" in keys:
            compiler.faults.add(node, "`node` goes with `each` or `when`", key="node")
            return None
        if "ref" in keys:
            return compile_ref(node, space, compiler)
        if "term" in keys:
            return compile_term(node, space, compiler)
        if "lookup" in keys:
            return compile_looked_up(node, key, space, compiler)
        if "role" in keys:
            return self._role(node, space)
        if "timespan" in keys and not keys["timespan"].is_map and "type" not in keys:
            return compile_timespan(node, space, compiler)
        if "size" in keys and "type" not in keys:
            return compile_sizes(node, space, compiler)
        return self._plain(node, space, at=key)

    def _without(self, node: Node, *taken: str) -> Node:
        inner = node.get("node")
        if inner is not None:
            allowed = ("each", "when", "node")
            self.compiler.known_keys(node, allowed, "a node that has a `node`")
            return inner
        rest = {key: value for key, value in node.value.items() if key not in taken}
        return Node(rest, node.line, node.column, node.keys)

    def _each(self, node: Node, key: str, class_name: str, space: Space) -> Piece | None:
        found = self.elements(node.value["each"], space)
        if found is None:
            return None
        ref, inside = found
        condition = self._condition(node, inside)
        piece = self.value(self._without(node, "each", "when"), key, class_name, inside)
        if piece is None:
            return None
        elements, add = ref.value(), piece.into()

        def spread(scope: Scope, run: Run, path: str, out: list[Any]) -> None:
            for element in elements(scope):
                if condition is None or condition(element):
                    add(element, run, path, out)

        return Piece(spread=spread)

    def elements(self, node: Node, space: Space) -> tuple[Ref, Space] | None:
        """Return the list that `each` names, and the space of its elements."""
        compiler = self.compiler
        name = compiler.text(node, "`each`")
        ref = compiler.resolve(name, space, (node.line, node.column)) if name else None
        if ref is None:
            return None
        if ref.field.element is None:
            compiler.make_list(ref.field)
        if ref.field.element is None:
            compiler.faults.add(node, f"`{name}` is not a list", "`each` goes over a list")
            return None
        return ref, ref.field.element

    def _condition(self, node: Node, space: Space) -> Condition | None:
        when = node.get("when")
        return compile_when(when, space, self.compiler) if when is not None else None

    def _when(self, node: Node, key: str, class_name: str, space: Space) -> Piece | None:
        condition = self._condition(node, space)
        piece = self.value(self._without(node, "when"), key, class_name, space)
        if piece is None or condition is None:
            return None
        if piece.make is None:
            add = piece.into()

            def spread(scope: Scope, run: Run, path: str, out: list[Any]) -> None:
                if condition(scope):
                    add(scope, run, path, out)

            return Piece(spread=spread)
        make = piece.make
        return Piece(
            make=lambda scope, run, path: make(scope, run, path) if condition(scope) else None,
            fixed=piece.fixed,
        )

    def _role(self, node: Node, space: Space) -> Piece | None:
        compiler, written = self.compiler, node.value["role"]
        text = compile_text(written, space, compiler)
        if text is None:
            return None
        role = text.constant
        rest = self._without(node, "role")
        if role is not None:
            if not compiler.term(written, f"role/{role}"):
                return None
            expected = "Modification" if role in MODIFICATIONS else "Production"
            kind = rest.get("type")
            if kind is not None and kind.value not in (expected, "Creation"):
                compiler.faults.add(kind, f"the role `{role}` belongs to a {expected}")
                return None
        given = "type" in rest.value
        if not given:
            rest.value["type"] = Node("Production", node.line, node.column)
        plain = self._plain(rest, space)
        if plain is None or plain.make is None:
            return None
        nodes, inner, get = compiler.nodes, plain.make, text.get

        def make(scope: Scope, run: Run, path: str) -> Any:
            made = inner(scope, run, path)
            name = role if role is not None else get(scope, run)
            if made is None or not name:
                return made
            try:
                head = nodes.role(run.uri, name)
            except TermError as error:
                run.tell(scope, "", "term", error.message, name, error.hint)
                return made
            made["id"] = head["id"]
            made["type"] = made["type"] if given else head["type"]
            made["classified_as"] = head["classified_as"] + made.get("classified_as", [])
            return made

        return Piece(make=make, fixed=plain.fixed)

    def _plain(
        self, node: Node, space: Space, *, document: bool = False, at: str = ""
    ) -> Piece | None:
        """Compile a node with a `type` and keys of Linked Art."""
        kind = node.get("type")
        name = kind.value if kind is not None else None
        if not isinstance(name, str):
            self.compiler.faults.add(node, "the node has no `type`", "name its class of Linked Art")
            return None
        fixed_type = "{" not in name
        if fixed_type:
            assert kind is not None
            known_class(kind, name, self.compiler)
        same: dict[str, Any] = {}
        members: list[tuple[str, str, Make]] = []
        good = all_fixed = True
        for key, value in node.value.items():
            piece = (
                self.value(value, key, name, space)
                if self._known(node, key, name if fixed_type else "")
                else None
            )
            if piece is None or not self._fits(piece, value, name, key):
                good = False
                continue
            all_fixed = all_fixed and piece.fixed
            many = takes_list(name, key)
            if piece.constant is not None:
                one = piece.spread is None
                same[key] = [piece.constant] if many and one else piece.constant
            else:
                members.append((key, f"/{key}", listed(piece) if many else piece.one()))
        members.extend(self._said_language(node, space))
        if not good:
            return None
        if at == "produced_by" and "id" not in node.value:
            members.insert(0, ("id", "/id", lambda scope, run, path: f"{run.uri}#production"))
        if not members:
            return constant(same)
        return Piece(make=filled(same, members, document or all_fixed), fixed=all_fixed)

    def _fits(self, piece: Piece, value: Node, name: str, key: str) -> bool:
        """Return whether a value may stand under a key: not several where one must."""
        several = value.is_list or (piece.spread is not None and not _single_lookup(value))
        if several and not takes_list(name, key):
            self.compiler.faults.add(value, f"`{key}` of {name} takes one value, not a list")
            return False
        return True

    def _known(self, node: Node, key: str, class_name: str) -> bool:
        known = known_keys(class_name)
        if key in known:
            return True
        at = node.keys.get(key, (node.line, node.column))
        if key in words.NODE:
            self.compiler.faults.add(at, f"`{key}` does not go with the other keys of this node")
            return False
        where = f" of {class_name}" if class_name else ""
        elsewhere = [name for name in CLASSES if key in known_keys(name)]
        hint = (
            f"it is one of {', '.join(elsewhere[:4])}"
            if elsewhere
            else nearest(key, known | set(words.NODE))
        )
        self.compiler.faults.add(at, f"`{key}` is not a key{where}", hint)
        return False

    def _said_language(self, node: Node, space: Space) -> list[tuple[str, str, Make]]:
        """A text read `as: text@en` brings its language, unless the node states one."""
        content = node.get("content")
        if content is None or "language" in node.value or content.is_map:
            return []
        text = compile_text(content, space, self.compiler)
        if text is None or text.only is None or not text.only.field.language:
            return []
        nodes, tag = self.compiler.nodes, text.only.field.language
        return [("language", "/language", lambda scope, run, path: [nodes.language(tag)])]

    def document(self, node: Node, space: Space) -> Make | None:
        """Compile a document without its `each` and `when`."""
        piece = self._plain(node, space, document=True)
        return None if piece is None else piece.make


def _single_lookup(node: Node) -> bool:
    return node.is_map and "lookup" in node.value and "each" not in node.value
