"""Targets of a shape: SHACL, section 2.1.3 <https://www.w3.org/TR/shacl/#targets>."""

from collections.abc import Callable

from lodpipe.check.graph import Graph, Node
from lodpipe.check.shapes import is_class
from lodpipe.check.words import sh

Focus = Callable[[Graph], list[Node]]
"""The focus nodes of a shape in a data graph, without duplicates."""

_NONE: list[Node] = []


def compile_targets(shapes: Graph, shape: Node) -> Focus:
    """Return the function that finds the focus nodes of a shape."""
    nodes = list(shapes.objects(shape, sh("targetNode")))
    classes = target_classes(shapes, shape)
    subjects_of = shapes.objects(shape, sh("targetSubjectsOf"))
    objects_of = shapes.objects(shape, sh("targetObjectsOf"))
    if not (nodes or subjects_of or objects_of):
        return _of_classes(classes)

    def focus(graph: Graph) -> list[Node]:
        found: dict[Node, None] = dict.fromkeys(nodes)
        if classes:
            found.update(dict.fromkeys(graph.of_classes(classes)))
        for predicate in subjects_of:
            found.update(dict.fromkeys(s for s, p in graph.spo.items() if predicate in p))
        for predicate in objects_of:
            found.update(dict.fromkeys(graph.inverse(predicate)))
        return list(found)

    return focus


def target_classes(shapes: Graph, shape: Node) -> tuple[Node, ...]:
    """Return the classes that a shape targets; itself among them when it is a class."""
    own = (shape,) if is_class(shapes, shape) else ()
    return (*shapes.objects(shape, sh("targetClass")), *own)


def _of_classes(classes: tuple[Node, ...]) -> Focus:
    if len(classes) == 1:
        only = classes[0]
        return lambda graph: graph.instances().get(only, _NONE)

    return lambda graph: graph.of_classes(classes)
