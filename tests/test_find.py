"""`journal find`: the table of cases, the order of criteria, the terminal."""

from __future__ import annotations

import pytest

from journal.find import Facets, find
from journal.pages.search import arrange
from tests.search_cases import Case, cases, rows, written

GROUPS = arrange(rows())


@pytest.mark.parametrize("case", cases(), ids=str)
def test_the_table_of_cases(case: Case) -> None:
    result = find(GROUPS, case.query, Facets(**case.facets))
    found = written([(g.head.url, [hit.row.url for hit in g.hits]) for g in result.groups])
    assert found == case.found, case.why
    assert result.near == case.near, case.why
