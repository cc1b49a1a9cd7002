"""Shapes compiled once into closures: all of SHACL Core.

Each shape becomes a `Plan`; what it needs of other shapes is compiled into it. A construct
outside of Core is refused by name, and with it every shape with targets that would reach it:
pySHACL checks those. A shape that says something SHACL does not allow is a fault: nobody can
check it.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from lodpipe.check import constraints as make
from lodpipe.check.constraints import Look, ShapeFaultError, Sweep, Test
from lodpipe.check.graph import RDF, XSD, Graph, Node, quote
from lodpipe.check.literals import datatype_of, text_of, value_of
from lodpipe.check.paths import PathFaultError, Values, compact, compile_path
from lodpipe.check.patterns import PatternFaultError
from lodpipe.check.results import Raw
from lodpipe.check.shapes import ShapeSet
from lodpipe.check.words import PARAMETERS, SH, SPARQL, sh

_NONE: list[Node] = []
_ANY = 1 << 62
_NOTHING: dict[Node, list[Node]] = {}
_QUIET = {"Disjoint", "LessThan", "LessThanOrEquals", "UniqueLang", "QualifiedMaxCount"}
"""Components that find nothing where there is no value."""
_TRUE = quote("true", f"{XSD}boolean")
_MOST_REMEMBERED = 2048
"""Values that one shape remembers as good: the types and labels that every document repeats."""


class RefusedError(ValueError):
    """A construct that is not compiled; the message names it."""


@dataclass(slots=True)
class Plan:
    """One compiled shape.

    Attributes:
        values: the property path; None for a node shape, whose value node is its focus node.
        predicate: the path when it is a single predicate; looked up without a call.
        low, most: sh:minCount and sh:maxCount.
        tests, looks, sweeps: the constraints by kind, each with the name of its component.
        allowed: predicates that sh:closed allows, or None.
        properties: the property shapes that it holds.
        needs: whether something can be found where the path has no value.
        plain: whether it has nothing but counts and tests.
        good: values that passed all tests.
    """

    node: Node
    path: str = ""
    values: Values | None = None
    predicate: Node = ""
    low: int = 0
    most: int = _ANY
    off: bool = False
    tests: list[tuple[str, Test]] = field(default_factory=list)
    looks: list[tuple[str, Look]] = field(default_factory=list)
    sweeps: list[tuple[str, Sweep]] = field(default_factory=list)
    allowed: frozenset[Node] | None = None
    properties: list["Plan"] = field(default_factory=list)
    needs: bool = False
    plain: bool = False
    good: set[Node] = field(default_factory=set)

    @property
    def pure(self) -> bool:
        """Whether conformance depends on the value node alone."""
        return self.values is None and not self.low and self.most == _ANY and self.plain

    def _values(self, graph: Graph, focus: Node) -> Sequence[Node]:
        if self.predicate:
            properties = graph.spo.get(focus)
            return _NONE if properties is None else properties.get(self.predicate, _NONE)
        return (focus,) if self.values is None else self.values(graph, focus)

    def conforms(self, graph: Graph, focus: Node) -> bool:
        """Return whether a node conforms: whether `collect` would find nothing."""
        if self.off:
            return True
        values = self._values(graph, focus)
        count = len(values)
        if not self.low <= count <= self.most:
            return False
        for _, sweep in self.sweeps:
            if sweep(graph, focus, values):
                return False
        for value in values:
            if value not in self.good and not self._passes(value):
                return False
            for _, look in self.looks:
                if not look(graph, value):
                    return False
            for plan in self.properties:
                if not plan.conforms(graph, value):
                    return False
            if self.allowed is not None and not self.allowed.issuperset(graph.spo.get(value, ())):
                return False
        return True

    def test(self, value: Node) -> bool:
        """Return whether a node conforms to a pure shape."""
        return self.off or all(test(value) for _, test in self.tests)

    def collect(self, graph: Graph, focus: Node, out: list[Raw]) -> None:
        """Add the results for a focus node."""
        if not self.off:
            self._collect(graph, focus, self._values(graph, focus), out)

    def _collect(self, graph: Graph, focus: Node, values: Sequence[Node], out: list[Raw]) -> None:
        count = len(values)
        if count < self.low:
            out.append(Raw(focus, self.path, "MinCount", "", self.node))
        if count > self.most:
            out.append(Raw(focus, self.path, "MaxCount", "", self.node))
        for component, sweep in self.sweeps:
            for value in sweep(graph, focus, values):
                out.append(Raw(focus, self.path, component, value, self.node))
        for value in values:
            if self.tests and value not in self.good and not self._passes(value):
                for component, test in self.tests:
                    if not test(value):
                        out.append(Raw(focus, self.path, component, value, self.node))
            for component, look in self.looks:
                if not look(graph, value):
                    out.append(Raw(focus, self.path, component, value, self.node))
            if self.properties:
                self._held(graph, value, out)
            if self.allowed is not None:
                self._closed(graph, focus, value, out)

    def _held(self, graph: Graph, value: Node, out: list[Raw]) -> None:
        """Run the property shapes of a value node: its properties are looked up once."""
        properties = graph.spo.get(value, _NOTHING)
        for plan in self.properties:
            if plan.predicate:
                values = properties.get(plan.predicate)
                if values is None:
                    if plan.needs:
                        plan._collect(graph, value, _NONE, out)
                elif not (
                    plan.plain
                    and plan.low <= len(values) <= plan.most
                    and (not plan.tests or plan.good.issuperset(values))
                ):
                    plan._collect(graph, value, values, out)
            else:
                plan.collect(graph, value, out)

    def _passes(self, value: Node) -> bool:
        for _, test in self.tests:
            if not test(value):
                return False
        if len(self.good) < _MOST_REMEMBERED:
            self.good.add(value)
        return True

    def _closed(self, graph: Graph, focus: Node, value: Node, out: list[Raw]) -> None:
        assert self.allowed is not None
        for predicate, objects in graph.spo.get(value, {}).items():
            if predicate not in self.allowed:
                for object_ in objects:
                    out.append(Raw(focus, compact(predicate), "Closed", object_, self.node))


class Compiler:
    """Compiles the shapes of a set.

    After `compile` of a shape: its plan, or a RefusedError or ShapeFaultError.
    """

    def __init__(self, shapes: ShapeSet) -> None:
        self._set = shapes
        self._graph = shapes.graph
        self._plans: dict[Node, Plan | RefusedError | ShapeFaultError] = {}
        self._open: list[Node] = []
        self._custom = _custom_parameters(shapes.graph)

    def compile(self, node: Node) -> Plan:
        """Return the plan of a shape.

        Raises:
            RefusedError: it uses something outside of SHACL Core, or refers to itself.
            ShapeFaultError: it is not well formed.
        """
        if node in self._open:
            raise RefusedError(f"the shape refers to itself through {compact(node)}")
        if node not in self._plans:
            self._open.append(node)
            try:
                self._plans[node] = self._plan(node)
            except (PathFaultError, PatternFaultError) as fault:
                self._plans[node] = ShapeFaultError(str(fault))
            except (RefusedError, ShapeFaultError) as fault:
                self._plans[node] = fault
            finally:
                self._open.pop()
        found = self._plans[node]
        if isinstance(found, Plan):
            return found
        raise found

    def _plan(self, node: Node) -> Plan:
        graph = self._graph
        properties = graph.spo.get(node)
        if properties is None:
            raise ShapeFaultError(f"there is no shape {compact(node)}")
        plan = Plan(node, off=_TRUE in properties.get(sh("deactivated"), ()))
        if plan.off:
            return plan
        self._refuse(properties)
        self._take_path(plan, properties)
        for name, parameter in PARAMETERS.items():
            values = properties.get(sh(name))
            if not values or (parameter.on == "property" and plan.values is None):
                continue
            if parameter.one and len(values) > 1:
                raise ShapeFaultError(f"sh:{name} stands there {len(values)} times")
            for value in values:
                self._add(plan, name, value)
        plan.properties = [held for held in plan.properties if not held.off]
        plan.plain = not (plan.looks or plan.sweeps or plan.properties or plan.allowed is not None)
        plan.needs = plan.low > 0 or any(c not in _QUIET for c, _ in plan.sweeps)
        return plan

    def _refuse(self, properties: dict[Node, list[Node]]) -> None:
        for name in SPARQL:
            if sh(name) in properties:
                raise RefusedError(f"sh:{name} is not SHACL Core")
        for predicate in properties:
            if predicate in self._custom:
                raise RefusedError(f"{compact(predicate)} is a constraint component of its own")

    def _take_path(self, plan: Plan, properties: dict[Node, list[Node]]) -> None:
        paths = properties.get(sh("path"), ())
        if not paths:
            return
        for node, message in self._set.faults:
            if node == plan.node:
                raise ShapeFaultError(message)
        path = self._set.shapes[plan.node].path if plan.node in self._set.shapes else None
        if path is None or len(paths) > 1:
            raise ShapeFaultError("a property shape has exactly one sh:path")
        plan.path = str(path)
        plan.values = compile_path(path)
        plan.predicate = path.predicate

    def _add(self, plan: Plan, name: str, value: Node) -> None:
        component = PARAMETERS[name].component
        test = self._simple(plan, name, value)
        if test is not None:
            plan.tests.append((component, test))
        elif name in _SWEEPS:
            plan.sweeps.append((component, _SWEEPS[name](value)))
        elif name == "class":
            plan.looks.append((component, make.class_look(value)))
        elif name == "minCount":
            plan.low = _integer(name, value)
        elif name == "maxCount":
            plan.most = _integer(name, value)
        elif name == "uniqueLang":
            if value == _TRUE:
                plan.sweeps.append((component, make.unique_sweep()))
        elif name == "property":
            plan.properties.append(self._property(value))
        elif name == "closed":
            if value == _TRUE:
                plan.allowed = self._closed(plan.node)
        elif name in ("qualifiedMinCount", "qualifiedMaxCount"):
            for shape in self._graph.objects(plan.node, sh("qualifiedValueShape")):
                plan.sweeps.append((component, self._qualified(plan.node, name, shape, value)))
        elif PARAMETERS[name].takes in ("shape", "shapes") and component:
            self._logical(plan, name, component, value)

    def _simple(self, plan: Plan, name: str, value: Node) -> Test | None:
        if name == "datatype":
            return make.datatype_test(value)
        if name == "nodeKind":
            return make.kind_test(value)
        if name in ("minLength", "maxLength"):
            return make.length_test(name, _integer(name, value))
        if name.endswith(("clusive",)):
            if not value.startswith('"'):
                raise ShapeFaultError(f"sh:{name} takes a literal, not {compact(value)}")
            return make.range_test(name, value)
        if name == "pattern":
            flags = self._graph.objects(plan.node, sh("flags"))
            return make.pattern_test(text_of(value), text_of(flags[0]) if flags else "")
        if name == "languageIn":
            return make.language_test(self._list(name, value))
        return make.in_test(self._list(name, value)) if name == "in" else None

    def _logical(self, plan: Plan, name: str, component: str, value: Node) -> None:
        members = self._list(name, value) if PARAMETERS[name].takes == "shapes" else [value]
        plans = [self.compile(member) for member in members]
        if all(part.pure for part in plans):
            plan.tests.append((component, _join(name, [part.test for part in plans])))
        else:
            plan.looks.append((component, _join_looks(name, [part.conforms for part in plans])))

    def _property(self, node: Node) -> Plan:
        plan = self.compile(node)
        if plan.values is None and not plan.off:
            raise ShapeFaultError(f"the property shape {self._name(node)} has no sh:path")
        return plan

    def _closed(self, node: Node) -> frozenset[Node]:
        graph = self._graph
        allowed = {
            path
            for shape in graph.objects(node, sh("property"))
            for path in graph.objects(shape, sh("path"))
        }
        for head in graph.objects(node, sh("ignoredProperties")):
            allowed.update(self._list("ignoredProperties", head))
        return frozenset(allowed)

    def _qualified(self, node: Node, name: str, shape: Node, value: Node) -> Sweep:
        graph = self._graph
        siblings: set[Node] = set()
        if _TRUE in graph.objects(node, sh("qualifiedValueShapesDisjoint")):
            for parent in graph.subjects(sh("property"), node):
                for other in graph.objects(parent, sh("property")):
                    siblings.update(graph.objects(other, sh("qualifiedValueShape")))
        siblings.discard(shape)
        count = _integer(name, value)
        return make.qualified_sweep(
            self.compile(shape).conforms,
            [self.compile(sibling).conforms for sibling in sorted(siblings)],
            count if name == "qualifiedMinCount" else None,
            count if name == "qualifiedMaxCount" else None,
        )

    def _list(self, name: str, head: Node) -> list[Node]:
        members = self._graph.items(head)
        if not members and head != f"<{RDF}nil>":
            raise ShapeFaultError(f"sh:{name} takes a list in round brackets")
        return members

    def _name(self, node: Node) -> str:
        shape = self._set.shapes.get(node)
        return compact(node) if shape is None else shape.name


_SWEEPS: dict[str, Callable[[Node], Sweep]] = {
    "equals": make.equals_sweep,
    "disjoint": make.disjoint_sweep,
    "lessThan": lambda predicate: make.less_sweep(predicate, (-1,)),
    "lessThanOrEquals": lambda predicate: make.less_sweep(predicate, (-1, 0)),
    "hasValue": make.has_value_sweep,
}


def _join(name: str, tests: list[Test]) -> Test:
    if name in ("and", "node"):
        return lambda value: all(test(value) for test in tests)
    if name == "or":
        return lambda value: any(test(value) for test in tests)
    if name == "not":
        return lambda value: not tests[0](value)
    return lambda value: sum(test(value) for test in tests) == 1


def _join_looks(name: str, looks: list[Look]) -> Look:
    if name in ("and", "node"):
        return lambda graph, value: all(look(graph, value) for look in looks)
    if name == "or":
        return lambda graph, value: any(look(graph, value) for look in looks)
    if name == "not":
        return lambda graph, value: not looks[0](graph, value)
    return lambda graph, value: sum(look(graph, value) for look in looks) == 1


def _integer(name: str, node: Node) -> int:
    value = value_of(node)
    if datatype_of(node) != f"{XSD}integer" or value is None or int(str(value[1])) < 0:
        raise ShapeFaultError(f"sh:{name} takes a whole number from 0, not {compact(node)}")
    return int(str(value[1]))


def _custom_parameters(graph: Graph) -> frozenset[Node]:
    """Parameters of constraint components that the shapes declare themselves (SHACL, 6.2)."""
    found = set()
    for parameter in graph.inverse(sh("parameter")):
        found.update(graph.objects(parameter, sh("path")))
    return frozenset(p for p in found if not p.startswith(f"<{SH}"))
