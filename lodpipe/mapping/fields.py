"""`reads.fields`: what each name is, as far as the mapping alone can say.

How values are got at depends on the form of the records; `reading` makes the steps once the first
record is there.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from lodpipe.errors import UsageError
from lodpipe.mapping import language
from lodpipe.mapping.compiler import Compiler
from lodpipe.mapping.language import FIELD
from lodpipe.mapping.paths import XML, check_path
from lodpipe.mapping.spaces import DATE, LIST, NUMBER, SIZE, TEXT, URL, YEAR, Field, Ref, Space
from lodpipe.mapping.specs import Case, Source, Spec, empty_words, read_options, reads_as
from lodpipe.mapping.texts import compile_text
from lodpipe.mapping.uris import compile_uri
from lodpipe.mapping.when import compile_when
from lodpipe.mapping.yaml_nodes import Node

_KIND_OF = {"date": DATE, "edtf": DATE, "year": YEAR, "number": NUMBER, "size": SIZE, "url": URL}


class Fields:
    """Declares the fields of a mapping, and keeps the spec of each by space."""

    def __init__(self, compiler: Compiler, empty: frozenset[str]) -> None:
        self.compiler = compiler
        self.empty = empty
        self.specs: dict[int, list[Spec]] = {}
        self.spaces: list[Space] = []
        self._later: list[Callable[[], None]] = []
        compiler.make_list = self.turn_into_list

    def of(self, space: Space) -> list[Spec]:
        """Return the specs of a space, in the order in which they are read."""
        return self.specs.setdefault(id(space), [])

    def declare_all(self, node: Node | None, space: Space) -> None:
        """Declare every field of a `fields` mapping; those made by `choose` come last."""
        if node is None:
            return
        if not node.is_map:
            self.compiler.faults.add(node, "`fields` takes names and where they stand")
            return
        for name, value in node.value.items():
            if not self._good_name(name, node):
                continue
            if value.is_map and "choose" in value.value and not _list_kind(value):
                self._chosen(name, value, space, node.keys[name])
            else:
                self._declare(name, value, space, node.keys[name])

    def settle(self) -> None:
        """Look up the names that fields use of one another, now that all are declared."""
        while self._later:
            later, self._later = self._later, []
            for settle in later:
                settle()

    def turn_into_list(self, made: Field) -> None:
        """Make a list of a field that an `each` goes over."""
        for space in self.spaces:
            for spec in self.of(space):
                if spec.field is not made:
                    continue
                if spec.implicit:
                    self._implicit_list(spec, space)
                elif not spec.cases:
                    self.make_list(spec, space)
                return

    def _implicit_list(self, spec: Spec, space: Space) -> None:
        made = spec.field
        made.kind, spec.implicit = LIST, False
        element = made.element = Space(made.label, space, open=True)
        spec.options["list"] = "each"
        self._opened(element, "each")

    def _opened(self, element: Space, kind: str) -> None:
        self.spaces.append(element)
        element.add = lambda member, place: self._member(member, place, element, kind)

    def _good_name(self, name: str, node: Node) -> bool:
        if name.strip() != name or not name or any(c in name for c in "{}^+.|"):
            self.compiler.faults.add(
                node,
                f"`{name}` cannot be the name of a field",
                "use letters, digits, `_`",
                key=name,
            )
            return False
        return True

    def _declare(self, name: str, node: Node, space: Space, at: tuple[int, int]) -> None:
        if not node.is_map:
            made = space.declare(name, TEXT, at)
            spec = Spec(made, self._sources(node), self.empty)
            self.of(space).append(spec)
            return
        if not self.compiler.known_keys(node, FIELD, "a field"):
            return
        kind = _list_kind(node)
        if kind:
            self._list(kind, name, node, space, at)
        else:
            self._scalar(name, node, space, at)

    def _sources(self, node: Node | None) -> list[Source]:
        if node is None:
            return []
        found = []
        for item in node.value if node.is_list else [node]:
            path = self.compiler.text(item, "where the value stands")
            if path:
                self._check_path(path, item)
                found.append(Source(path, (item.line, item.column)))
        return found

    def _check_path(self, path: str, at: Node) -> None:
        form = XML if self.compiler.namespaces else ""
        try:
            check_path(path, self.compiler.namespaces, form)
        except UsageError as error:
            self.compiler.faults.add(at, error.message, error.hint)

    # --- one value ------------------------------------------------------------------------

    def _scalar(self, name: str, node: Node, space: Space, at: tuple[int, int]) -> None:
        compiler = self.compiler
        if "from" not in node.value:
            compiler.faults.add(node, f"`{name}` does not say where it stands", "write `from:`")
            return
        way, tag = reads_as(node.get("as"), compiler)
        kind = _KIND_OF.get(way, TEXT)
        spec = Spec(
            space.declare(name, kind, at, language=tag),
            self._sources(node.get("from")),
            self._empty(node),
            way,
            compiler.pattern(node.value["pattern"]) if "pattern" in node.value else None,
            compiler.text(node.get("split"), "`split`"),
        )
        read_options(spec, node, self._sources(node.get("compare")), compiler)
        if spec.split:
            self.make_list(spec, space)
        elif spec.pattern is not None:
            self._groups(spec, space, at)
        if kind == SIZE:
            self._size(spec, space, at)
        self.of(space).append(spec)

    def make_list(self, spec: Spec, space: Space) -> None:
        """Turn a field into a list of plain values: it has `split`, or an `each` goes over it."""
        made = spec.field
        if made.kind in (LIST, SIZE) or made.element is not None:
            return
        element = Space(made.label, space)
        element.declare(".", made.kind, made.at, language=made.language, used=True)
        if spec.pattern is not None:
            for group in spec.pattern.groups:
                element.declare(group, TEXT, made.at)
                element.fields[group].used = True
        made.kind, made.element, made.as_list = LIST, element, True

    def _groups(self, spec: Spec, space: Space, at: tuple[int, int]) -> None:
        assert spec.pattern is not None
        for group in spec.pattern.groups:
            space.declare(f"{spec.field.name}.{group}", TEXT, at)

    def _empty(self, node: Node) -> frozenset[str]:
        own = node.get("empty")
        return self.empty if own is None else empty_words(own, self.compiler)

    def _size(self, spec: Spec, space: Space, at: tuple[int, int]) -> None:
        element = Space(spec.field.label, space)
        for name, kind in (("what", TEXT), ("kind", TEXT), ("value", NUMBER), ("display", TEXT)):
            element.declare(name, kind, at, used=True)
        spec.field.element = element

    # --- lists ----------------------------------------------------------------------------

    def _list(self, kind: str, name: str, node: Node, space: Space, at: tuple[int, int]) -> None:
        allowed = language.ELEMENT_KEYS[kind]
        for key in node.value:
            if key not in allowed:
                self.compiler.faults.add(node, f"`{key}` does not go with `{kind}`", "", key=key)
        made = space.declare(name, LIST, at)
        element = made.element = Space(made.label, space, open=kind != "together")
        spec = Spec(made, empty=self._empty(node))
        spec.options["list"] = kind
        getattr(self, f"_{kind}")(spec, node, element)
        if kind != "together":
            self._opened(element, kind)
            self.declare_all(node.get("fields"), element)
        else:
            self.spaces.append(element)
        choose = node.get("choose")
        if choose is not None and not choose.is_map:
            self.compiler.faults.add(choose, "`choose` takes names and the cases of each")
        elif choose is not None:
            for chosen, cases in choose.value.items():
                self._chosen(chosen, cases, element, choose.keys[chosen], spec)
        self.of(space).append(spec)

    def _member(self, name: str, at: tuple[int, int], space: Space, kind: str) -> Field | None:
        """A name that is not declared is a member of the element."""
        if kind == "walk" and name.startswith("parent."):
            above = name.removeprefix("parent.")
            field_above = space.fields.get(above) or self._member(above, at, space, kind)
            if field_above is None:
                return None
            field_above.used = True
            return space.declare(name, field_above.kind, at, above=True)
        if name != "." and any(character in name for character in "{}^+|"):
            return None
        made = space.declare(name, TEXT, at)
        self.of(space).insert(0, Spec(made, [Source(name, at)], self.empty, implicit=True))
        return made

    def _together(self, spec: Spec, node: Node, element: Space) -> None:
        columns = node.value["together"]
        if not columns.is_map or not columns.value:
            self.compiler.faults.add(columns, "`together` takes names and their columns")
            return
        for name, value in columns.value.items():
            if self._good_name(name, columns):
                self._declare(name, value, element, columns.keys[name])
        spec.members = self.specs.pop(id(element), [])
        for member in spec.members:
            if member.split or member.field.kind in (LIST, SIZE):
                self.compiler.faults.add(
                    member.field.at, f"`{member.field.name}` is a list within `together`"
                )
        spec.split = self.compiler.text(node.get("split"), "`split`")
        lead = node.get("lead")
        names = [member.field.name for member in spec.members]
        if lead is not None:
            spec.options["lead"] = self.compiler.one_of(lead, names, "a column of `together`")
        else:
            spec.options["lead"] = names[0] if names else ""
        if spec.options["lead"]:
            element.fields[spec.options["lead"]].used = True

    def _each(self, spec: Spec, node: Node, element: Space) -> None:
        spec.sources = self._sources(node.value["each"])

    def _walk(self, spec: Spec, node: Node, element: Space) -> None:
        spec.sources = self._sources(node.value["walk"])
        children = node.get("children")
        if children is None:
            self.compiler.faults.add(
                node, "`walk` does not say where the nodes below stand", "write `children:`"
            )
        spec.options["children"] = self._sources(children)
        spec.options["root"] = self.compiler.flag(node.get("root"), "`root`", True)

    def _join(self, spec: Spec, node: Node, element: Space) -> None:
        compiler = self.compiler
        joined = compiler.text(node.value["join"], "the name of a joined file")
        spec.options["join"] = joined
        spec.options["by"] = compiler.text(node.get("by"), "`by`") if "by" in node.value else ""
        known = compiler.joins.setdefault(joined, spec.options["by"])
        if known != spec.options["by"]:
            compiler.faults.add(
                node.value.get("by", node),
                f"`{joined}` is joined by two columns",
                f"elsewhere it is joined by `{known}`",
            )
        on = node.get("on")
        if on is None:
            compiler.faults.add(node, "`join` does not say by which field", "write `on:`")
            return
        outer, name = element.outer, compiler.text(on, "`on`")
        assert outer is not None

        def settle() -> None:
            with self._needed_by(spec):
                spec.options["on"] = compiler.resolve(name, outer, (on.line, on.column))

        self._later.append(settle)

    @contextmanager
    def _needed_by(self, *specs: Spec) -> Iterator[None]:
        """Note every name that is looked up meanwhile as one that these specs need."""
        before, self.compiler.needs = self.compiler.needs, set()
        yield
        for spec in specs:
            spec.needs |= self.compiler.needs
        self.compiler.needs = before

    def _chosen(
        self,
        name: str,
        cases: Node,
        space: Space,
        at: tuple[int, int],
        holder: Spec | None = None,
    ) -> None:
        """Declare a field that `choose` makes; `holder` is the list whose elements have it."""
        compiler = self.compiler
        if name in space.fields:
            compiler.faults.add(at, f"the field `{name}` stands twice", "keep one of them")
            return
        reads_as = ""
        if cases.is_map and "choose" in cases.value:
            compiler.known_keys(cases, ("choose", "as"), "a field that is chosen")
            if "as" in cases.value:
                reads_as = compiler.one_of(cases.value["as"], ("date", "edtf"), "a kind of date")
            cases = cases.value["choose"]
        made = space.declare(name, DATE if reads_as else TEXT, at, chosen=True)
        spec = Spec(made, reads_as=reads_as)
        self.of(space).append(spec)
        if not cases.is_list or not cases.value:
            compiler.faults.add(cases, f"`{name}` takes a list of cases", "[{when: ..., is: ...}]")
            return

        def settle() -> None:
            with self._needed_by(spec, *([holder] if holder is not None else [])):
                for number, case in enumerate(cases.value, 1):
                    self._case(spec, case, space, last=number == len(cases.value))

        self._later.append(settle)

    def _case(self, spec: Spec, case: Node, space: Space, *, last: bool) -> None:
        compiler = self.compiler
        if not case.is_map:
            compiler.faults.add(case, "a case is not a mapping", "{when: ..., is: ...}")
            return
        if not compiler.known_keys(case, language.CASE, "a case"):
            return
        when = case.get("when")
        tested: list[Ref] = []
        condition = compile_when(when, space, compiler, case=True, used=tested) if when else None
        if when is None and not last:
            compiler.faults.add(
                case, "the cases behind this one are never reached", "give it a `when`"
            )
        if "is" not in case.value:
            compiler.faults.add(case, "a case does not say what it gives", "write `is:`")
            return
        value = case.value["is"]
        text = compile_text(value, space, compiler)
        if text is not None:
            spec.cases.append(Case(condition, value, text, tested))

    def finish(self) -> None:
        """Compile what `{+field}` asked for, and note the fields that nothing uses."""
        for space in self.spaces:
            for spec in self.of(space):
                for case in spec.cases if spec.field.plus else ():
                    case.uri = compile_uri(case.node, space, self.compiler, path_only=True)


def _list_kind(node: Node) -> str:
    return next((kind for kind in language.LIST_KINDS if kind in node.value), "")
