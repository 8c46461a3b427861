"""Few unknown numbers along axes, solved by plain arithmetic: the same figures as the general way gives."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from journal.measure import along, linear, settle
from journal.measure.observations import Directed, Distance, Fixed, NetworkFault

FIXED: Fixed = {"end": (0.0, 0.0), "edge": (None, 0.0), "seam": (0.0, None)}
NAMES = ["end", "edge", "seam", "P", "Q"]
SIGMAS = [0.02, 0.3, 1.0, 5.0]


@st.composite
def readings(draw: st.DrawFn) -> list[Directed]:
    pairs = st.lists(st.sampled_from(NAMES), min_size=2, max_size=2, unique=True)
    axes, halves, sigmas = st.sampled_from("xy"), st.integers(-900, 900), st.sampled_from(SIGMAS)
    count = draw(st.integers(1, 9))
    return [Directed(*draw(pairs), draw(axes), draw(halves) / 2, draw(sigmas)) for _ in range(count)]


@given(readings())
def test_the_same_as_the_general_way(items: list[Directed]) -> None:
    start = {name: (7.0, -3.0) for name in NAMES}
    for group in settle.groups(items, FIXED):
        assert along.all_along(group)
        system = linear.build(group, FIXED, 2, 900.0)
        slopes = system.linearise(linear.place(system, start))[1][:, system.free]
        if np.linalg.matrix_rank(slopes) < len(system.free):
            with pytest.raises(NetworkFault, match="do not hold everything"):
                along.adjusted(group, along.unknowns(group, FIXED, start))
            continue
        few = along.adjusted(group, along.unknowns(group, FIXED, start))
        many = settle._many(group, FIXED, start, 900.0)
        assert (few.unknowns, few.redundancy) == (many.unknowns, many.redundancy)
        for name in system.slots:
            assert few.points[name] == pytest.approx(many.points[name], abs=1e-7)
        assert few.cofactor == pytest.approx(many.cofactor, rel=1e-6, abs=1e-9)
        assert few.residuals == pytest.approx(many.residuals, abs=1e-7)
        assert few.redundancies == pytest.approx(many.redundancies, abs=1e-6)
        assert few.chi2 == pytest.approx(many.chi2, rel=1e-6, abs=1e-6)
        assert few.reach @ few.reach.T == pytest.approx(many.reach @ many.reach.T, abs=1e-6)


def test_a_hole_between_two_ends() -> None:
    """By hand: readings of 100 and 902 mm, both ± 1, from the ends of a panel of 1000: 2 mm too long, 1 from each."""
    fixed: Fixed = {"rear": (0.0, 0.0), "front": (1000.0, 0.0), "hole": (None, 0.0)}
    found = settle.settle(
        [Directed("rear", "hole", "x", 100.0, 1.0), Directed("hole", "front", "x", 902.0, 1.0)], fixed, {"hole": (0, 0)}
    )
    assert found.points["hole"] == pytest.approx((99.0, 0.0))
    assert found.cofactor.tolist() == [[pytest.approx(0.5)]]
    assert found.residuals == pytest.approx((-1.0, -1.0))
    assert found.redundancies == pytest.approx((0.5, 0.5))
    assert found.chi2 == pytest.approx(2.0)
    assert found.normalised == pytest.approx((-(2**0.5), -(2**0.5)))


def test_what_hangs_on_nothing_is_not_held() -> None:
    loose = [Directed("P", "Q", "x", 5.0, 1.0)]
    with pytest.raises(NetworkFault, match="do not hold everything") as told:
        settle.settle(loose, {"P": (None, 0.0), "Q": (None, 0.0)}, {"P": (0, 0), "Q": (0, 0)})
    assert set(told.value.names) == {"P", "Q"}


def test_straight_distances_go_the_general_way() -> None:
    assert not along.all_along([Distance("P", "Q", 5.0, 1.0)])
    assert not along.all_along([Directed("P", "Q", (0.6, 0.8), 5.0, 1.0)])
