"""Outside checks of the temporal reasoning: published examples, with their source beside each."""

from itertools import permutations, product
from pathlib import Path

import pytest

from lodpipe.weigh.distances import INFINITE, minimal
from lodpipe.weigh.grounds import Ground
from lodpipe.weigh.network import Edge, Limit, Network
from lodpipe.weigh.sequence import circle, closure, reduction
from lodpipe.weigh.spans import spans_of

# --- J. F. Allen, "Maintaining knowledge about temporal intervals", CACM 26 (1983) ----------
# The table was derived by enumeration; its checksum, 409, is the number of relations among three
# intervals (OEIS A055203). p m o F D s e S d f O M P: before, meets, overlaps, finished by,
# contains, starts, equals, started by, during, finishes, overlapped by, met by, after.

LETTERS = "pmoFDseSdfOMP"
STARTS_ENDS = {
    # letter: how a.start lies to b.start, a.start to b.end, a.end to b.start, a.end to b.end
    "p": "<<<<", "m": "<<=<", "o": "<<><", "F": "<<>=", "D": "<<>>", "s": "=<><", "e": "=<>=",
    "S": "=<>>", "d": "><><", "f": "><>=", "O": "><>>", "M": ">=>>", "P": ">>>>",
}  # fmt: skip


def relation(network: Network, a: int, b: int, letter: str) -> None:
    """Bind two intervals, given by the numbers of their starts; ends follow starts."""
    pairs = [(a, b), (a, b + 1), (a + 1, b), (a + 1, b + 1)]
    for (x, y), sign in zip(pairs, STARTS_ENDS[letter], strict=True):
        if sign == "<":
            network.edges.append(Edge(x, y, 1, None))
        elif sign == ">":
            network.edges.append(Edge(y, x, 1, None))
        else:
            network.edges.append(Edge(x, y, 0, 0))


def together(first: str, second: str, third: str) -> bool:
    """Whether a `first` b, b `second` c and a `third` c can hold at once."""
    network = Network(6)
    for point in range(6):
        network.limit(Limit(point, ((1, 6),), ()))  # six days are enough for six points
    for start in (0, 2, 4):
        network.edges.append(Edge(start, start + 1, 1, None))
    relation(network, 0, 2, first)
    relation(network, 2, 4, second)
    relation(network, 0, 4, third)
    return network.solve()


@pytest.fixture(scope="module")
def composition() -> dict[tuple[str, str], str]:
    return {
        (first, second): "".join(third for third in LETTERS if together(first, second, third))
        for first, second in product(LETTERS, repeat=2)
    }


def test_allen_checksum(composition: dict[tuple[str, str], str]) -> None:
    sizes = [len(found) for found in composition.values()]

    assert len(sizes) == 169
    assert {size: sizes.count(size) for size in set(sizes)} == {1: 97, 3: 42, 5: 24, 9: 3, 13: 3}
    assert sum(sizes) == 409


def test_allen_converse(composition: dict[tuple[str, str], str]) -> None:
    other = dict(zip(LETTERS, reversed(LETTERS), strict=True))  # p and P, m and M ...
    other.update({"s": "S", "S": "s", "f": "F", "F": "f", "d": "D", "D": "d", "e": "e"})

    for (first, second), found in composition.items():
        turned = {other[letter] for letter in found}
        assert turned == set(composition[other[second], other[first]])


@pytest.mark.reference
def test_allen_table(reference: Path, composition: dict[tuple[str, str], str]) -> None:
    header, *lines = (
        (reference / "reference" / "methods" / "allen_table.txt").read_text().splitlines()
    )
    columns = header.split()
    published = {
        (line.split()[0], column): cell
        for line in lines
        if line.split()
        for column, cell in zip(columns, line.split()[1:], strict=True)
    }

    assert len(published) == 169
    assert {pair: set(cell) for pair, cell in published.items()} == {
        pair: set(cell) for pair, cell in composition.items()
    }


# --- R. Dechter, I. Meiri, J. Pearl, "Temporal constraint networks" (1991), example 1.1 -----
# John goes by car (30-40 minutes) or by bus (60 or more), Fred by car (20-30) or in a carpool
# (40-50). John left between 7:10 and 7:20, Fred arrived between 8:00 and 8:10, John arrived 10 to
# 20 minutes after Fred left. Minutes after 7:00; 1 John leaves, 2 John arrives, 3 Fred leaves, 4
# Fred arrives. Statement from code comments of public ports, results recomputed.

JOHN = {"car": (30, 40), "bus": (60, INFINITE)}
FRED = {"car": (20, 30), "carpool": (40, 50)}
CAR_AND_CARPOOL = [
    [0, 20, 50, 30, 70],
    [-10, 0, 40, 20, 60],
    [-40, -30, 0, -10, 30],
    [-20, -10, 20, 0, 50],
    [-60, -50, -20, -40, 0],
]
LABELLINGS = [
    ("car", "carpool", [(10, 20), (40, 50), (20, 30), (60, 70)]),
    ("car", "car", [(10, 20), (40, 60), (30, 50), (60, 70)]),
    ("bus", "car", [(10, 10), (70, 70), (50, 50), (70, 70)]),
    ("bus", "carpool", None),
]


def journey(john: str, fred: str) -> list[list[int]] | None:
    between = {
        (0, 1): (10, 20), (0, 4): (60, 70), (3, 2): (10, 20), (1, 2): JOHN[john], (3, 4): FRED[fred],
    }  # fmt: skip
    bounds = []
    for (x, y), (low, high) in between.items():
        bounds += [(x, y, high), (y, x, -low)]
    return minimal(5, bounds)


@pytest.mark.parametrize(("john", "fred", "times"), LABELLINGS)
def test_dechter_meiri_pearl(john: str, fred: str, times: list[tuple[int, int]] | None) -> None:
    matrix = journey(john, fred)

    if times is None:
        assert matrix is None
    else:
        assert matrix is not None
        assert [(-matrix[x][0], matrix[0][x]) for x in range(1, 5)] == times


def test_dechter_meiri_pearl_matrix() -> None:
    assert journey("car", "carpool") == CAR_AND_CARPOOL


def test_dechter_meiri_pearl_by_days() -> None:
    """The same by taking away days: what is left of each event is the minimal network's."""
    network = Network(4)
    network.limit(Limit(0, ((10, 20),), ()))
    network.limit(Limit(3, ((60, 70),), ()))
    network.edges = [Edge(0, 1, 30, 40), Edge(2, 3, 40, 50), Edge(2, 1, 10, 20)]

    assert network.solve()
    assert [network.feasible(event) for event in range(4)] == [
        ((10, 20),), ((40, 50),), ((20, 30),), ((60, 70),),
    ]  # fmt: skip


def test_dechter_meiri_pearl_either_way() -> None:
    """Without knowing how they went: Fred left 7:20 to 7:50, John arrived 7:40 to 8:00 or 8:10."""
    found = [matrix for john in JOHN for fred in FRED if (matrix := journey(john, fred))]

    assert spans_of((-m[3][0], m[0][3]) for m in found) == ((20, 50),)
    assert spans_of((-m[2][0], m[0][2]) for m in found) == ((40, 60), (70, 70))


# --- E. C. Harris; figure 12 as printed in the vignette "Stratigraphic Graphs" (N. Frerebeau, ---
# CRAN, 2025-10-01). Later units lead to earlier ones.

HARRIS = {1: [2, 3, 4], 2: [5], 3: [5], 4: [5], 5: [6], 6: [7, 8], 7: [9], 8: [9], 9: []}
INTERVALS = {"A": (1, 7), "B": (2, 4), "C": (3, 15), "D": (6, 14), "E": (9, 11), "F": (13, 18), "G": (17, 19)}  # fmt: skip


def test_harris_matrix() -> None:
    assert reduction(HARRIS) == {unit: set(earlier) for unit, earlier in HARRIS.items()}
    assert sum(len(earlier) for earlier in HARRIS.values()) == 11
    assert sum(len(reached) for reached in closure(HARRIS).values()) == 32
    assert circle(HARRIS) == ()


def test_harris_linear_orders() -> None:
    reached = closure(HARRIS)
    orders = sum(
        all(order.index(later) < order.index(e) for later in order for e in reached[later])
        for order in permutations((2, 3, 4))  # only these and 7, 8 are free
        for order in [(1, *order, 5, 6, *rest, 9) for rest in permutations((7, 8))]
    )

    assert orders == 12


def test_harris_circle_is_named() -> None:
    assert circle({**HARRIS, 5: [6, 1]}) in {(1, via, 5) for via in (2, 3, 4)}


def test_stratigraphic_intervals() -> None:
    before = {a: [b for b in INTERVALS if INTERVALS[a][1] < INTERVALS[b][0]] for a in INTERVALS}
    pairs = {a + b for a, found in before.items() for b in found}
    short = {a + b for a, found in reduction(before).items() for b in found}

    assert pairs == {"AE", "AF", "AG", "BD", "BE", "BF", "BG", "CG", "DG", "EF", "EG"}
    assert short == {"AE", "BD", "BE", "CG", "DG", "EF", "EG"}
    rest = {a + b for a in INTERVALS for b in INTERVALS if a < b} - pairs
    assert rest == {"AB", "AC", "AD", "BC", "CD", "CE", "CF", "DE", "DF", "FG"}


# --- our own photo case (not published): sitting = negative; negative <= print; print <= mount <= -
# print + 5; mount <= caption. Years stand for days.

SITTING, NEGATIVE, PRINT, MOUNT, CAPTION = range(5)


def photo(*more: Edge | Limit) -> Network:
    network = Network(5)
    network.edges = [
        Edge(SITTING, NEGATIVE, 0, 0), Edge(NEGATIVE, PRINT, 0, None), Edge(PRINT, MOUNT, 0, 5),
        Edge(MOUNT, CAPTION, 0, None),
    ]  # fmt: skip
    for event, low, high, source in [
        (NEGATIVE, 1851, 1885, "process of the negative"), (PRINT, 1850, 1900, "process of the print"),
        (MOUNT, 1866, 1903, "format"), (CAPTION, -(10**9), 1891, "hand"),
    ]:  # fmt: skip
        network.limit(Limit(event, ((low, high),), (Ground(source, 1),)))
    for one in more:
        if isinstance(one, Edge):
            network.edges.append(one)
        else:
            network.limit(one)
    return network


DIED = Limit(SITTING, ((-(10**9), 1871),), (Ground("life", 1),))
STUDIO = Limit(MOUNT, ((1884, 10**9),), (Ground("studio", 1),))
SOON = Edge(NEGATIVE, PRINT, 0, 2, (Ground("habit", 1),))
PHOTO = [
    ((), [(1851, 1885), (1851, 1885), (1861, 1891), (1866, 1891), (1866, 1891)]),
    ((DIED,), [(1851, 1871), (1851, 1871), (1861, 1891), (1866, 1891), (1866, 1891)]),
    ((DIED, STUDIO), [(1851, 1871), (1851, 1871), (1879, 1891), (1884, 1891), (1884, 1891)]),
]


@pytest.mark.parametrize(("more", "expected"), PHOTO)
def test_photo_case(more: tuple[Edge | Limit, ...], expected: list[tuple[int, int]]) -> None:
    network = photo(*more)

    assert network.solve()
    assert [network.feasible(event) for event in range(5)] == [(pair,) for pair in expected]


def test_photo_case_that_cannot_be() -> None:
    assert not photo(DIED, STUDIO, SOON).solve()
    for left in ((DIED, STUDIO), (DIED, SOON), (STUDIO, SOON)):
        assert photo(*left).solve()


def test_photo_case_says_why() -> None:
    network = photo(DIED, STUDIO)
    network.solve()

    assert network.why(PRINT, latest=False) == (Ground("studio", 1),)
    assert network.why(PRINT, latest=True) == (Ground("hand", 1),)
    assert network.why(SITTING, latest=True) == (Ground("life", 1),)
