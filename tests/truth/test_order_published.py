"""Orders of work with published or closed-form counts: how many orders keep every wait, and that ours is one of them.

The count is made here from the waits that the order kept, by adding up over the sets of steps that can be done first.
Counting is hard in general (Brightwell and Winkler 1991: #P-complete), so the graphs are small.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from itertools import combinations, pairwise
from math import comb, factorial

import pytest

from journal.ground.source import Span
from journal.judge.order import Order, Step, Wait, put_in_order
from journal.model.entities import Moment
from tests.builds import TODAY

Edges = list[tuple[str, str]]


def order_of(edges: Edges, free: Iterable[str] = ()) -> Order:
    names = dict.fromkeys([name for edge in edges for name in edge] + list(free))
    waits = [Wait(Step("part", a), Step("part", b), "", Span(""), Moment(TODAY, 0)) for a, b in edges]
    order = put_in_order([Step("part", name) for name in names], waits)
    assert not order.rings
    assert len(order.waits) == len(edges)
    return order


def count(order: Order) -> int:
    """How many orders of all steps keep every wait."""
    number = {step: n for n, step in enumerate(order.steps)}
    needs = [0] * len(number)
    for wait in order.waits:
        needs[number[wait.after]] |= 1 << number[wait.before]

    @cache
    def ways(done: int) -> int:
        if done == (1 << len(needs)) - 1:
            return 1
        free = (n for n in range(len(needs)) if not done >> n & 1 and needs[n] & done == needs[n])
        return sum(ways(done | 1 << n) for n in free)

    return ways(0)


def turned(edges: Edges) -> Edges:
    return [(b, a) for a, b in edges]


def heap(count: int) -> Edges:
    return [(str((n - 1) // 2), str(n)) for n in range(1, count)]


def chains(*lengths: int) -> Edges:
    return [edge for c, length in enumerate(lengths) for edge in pairwise(f"{c}.{n}" for n in range(length))]


def ladder(n: int) -> Edges:
    return [*pairwise(f"a{i}" for i in range(n)), *pairwise(f"b{i}" for i in range(n)),
            *((f"a{i}", f"b{i}") for i in range(n))]


def fence(n: int) -> Edges:
    return [(f"{i}", f"{i + 1}") if i % 2 == 0 else (f"{i + 1}", f"{i}") for i in range(n - 1)]


def subsets(n: int) -> Edges:
    sets = [frozenset(s) for size in range(n + 1) for s in combinations(range(n), size)]
    return [(str(sorted(a)), str(sorted(b))) for a in sets for b in sets if a < b and len(b) == len(a) + 1]


def arrows(text: str) -> Edges:
    """`5>11 7>8,11` as edges."""
    return [(a, b) for item in text.split() for a, more in [item.split(">")] for b in more.split(",")]


# Edges, steps without any, number of orders, where the number comes from.
PUBLISHED: list[tuple[str, Edges, list[str], int, str]] = [
    ("chain of 9", chains(9), [], 1, "closed form"),
    ("6 free parts", [], list("abcdef"), factorial(6), "closed form: n!"),
    ("chains of 3 and 4", chains(3, 4), [], comb(7, 3), "closed form: C(a + b, a) = 35"),
    ("heap of 3", heap(3), [], 2, "OEIS A056971, from memory; hook formula for forests"),
    ("heap of 7", heap(7), [], 80, "OEIS A056971, from memory; hook formula for forests"),
    ("heap of 15", heap(15), [], 21_964_800, "OEIS A056971, from memory; hook formula for forests"),
    *((f"2 x {n} ladder", ladder(n), [], c, "OEIS A000108 (Catalan), from memory")
      for n, c in enumerate((1, 2, 5, 14, 42, 132, 429, 1430), 1)),
    *((f"fence of {n}", fence(n), ["0"], c, "OEIS A000111, from memory")
      for n, c in enumerate((1, 1, 2, 5, 16, 61, 272, 1385, 7936, 50521), 1)),
    *((f"subsets of {n}", subsets(n), [], c, "OEIS A046873, from memory")
      for n, c in enumerate((1, 2, 48, 1_680_384), 1)),
    ("eight numbers", arrows("5>11 7>11,8 3>8,10 11>2,9,10 8>9"), [], 150,
     'graph of the encyclopedia article "Topological sorting", from memory; count computed'),
    ("getting dressed",
     arrows("undershorts>pants,shoes pants>belt,shoes belt>jacket shirt>belt,tie tie>jacket socks>shoes"), ["watch"],
     1728, "graph of Cormen, Leiserson, Rivest, Stein, from memory; count computed"),
    ("eight tasks A to H", arrows("A>C C>D,E D>F E>G B>H F>H G>H"), [], 42,
     "precedence of tutorsglobe.com question 51956825, read; count computed"),
    ("six tasks", arrows("1>3,5 2>4,5 3>4 4>6"), [], 11, "README of the package salbpone, read; count computed"),
    ("eleven tasks A to K", arrows("A>B B>C C>F,G F>J G>J J>K D>E E>H,I H>J I>J"), [], 504,
     "assembly line example of lindo.com (aslbal), graph from memory; count computed"),
]  # fmt: skip


@pytest.mark.parametrize(("edges", "free", "wanted"), [p[1:4] for p in PUBLISHED], ids=[p[0] for p in PUBLISHED])
def test_as_many_orders_as_published(edges: Edges, free: list[str], wanted: int) -> None:
    assert count(order_of(edges, free)) == wanted


@pytest.mark.parametrize(("edges", "free"), [p[1:3] for p in PUBLISHED], ids=[p[0] for p in PUBLISHED])
def test_ours_is_one_of_them(edges: Edges, free: list[str]) -> None:
    order = order_of(edges, free)
    at = {step.id: n for n, step in enumerate(order.steps)}
    assert len(at) == len({name for edge in edges for name in edge} | set(free))
    assert all(at[a] < at[b] for a, b in edges)
    staged = [step.id for stage in order.stages for step in stage]
    assert all(staged.index(a) < staged.index(b) for a, b in edges)


@pytest.mark.parametrize(
    ("edges", "free", "wanted"), [p[1:4] for p in PUBLISHED if len(p[1]) < 30],
    ids=[p[0] for p in PUBLISHED if len(p[1]) < 30],
)  # fmt: skip
def test_turned_round_there_are_as_many(edges: Edges, free: list[str], wanted: int) -> None:
    """Identity: an order of a graph read backwards is an order of the graph turned round."""
    assert count(order_of(turned(edges), free)) == wanted


def test_stages_of_a_ladder_are_its_diagonals() -> None:
    """A 2 x n ladder has n + 1 of them: by its shape."""
    assert [len(stage) for stage in order_of(ladder(4)).stages] == [1, 2, 2, 2, 1]


def test_longest_chain_of_the_eleven_tasks() -> None:
    """A B C F J K, six long: by its shape."""
    chain = order_of(PUBLISHED[-1][1]).chain(Step("part", "K"))
    assert [step.id for step in chain] in [list("ABCFJK"), list("ABCGJK")]
