"""Two readings of the same thing: do they agree within what their writing and method allow."""

from __future__ import annotations

from fractions import Fraction

from journal.measure.compare import Comparison, compare
from journal.measure.methods import uncertainty
from journal.measure.value import Value
from journal.model.entities import Reading


def u(reading: Reading, value: Value | None = None) -> float:
    """Standard uncertainty of a reading in its base unit (JCGM 100, rectangular)."""
    assert reading.value is not None
    return uncertainty(value or reading.value, reading.method, reading.from_memory, reading.in_doubt)


def compared(old: Reading, new: Reading) -> Comparison | None:
    """The comparison at k = 2, or None where one of them cannot be computed with."""
    a, b = old.value, new.value
    if a is None or b is None or not (a.computable and b.computable) or a.quantity != b.quantity:
        return None
    return compare(a, u(old), b, u(new))


def agree(old: Reading, new: Reading) -> bool | None:
    """Whether two readings agree; contacts of one kind do; None where it cannot be told."""
    if old.contact and new.contact:
        return True
    comparison = compared(old, new)
    return None if comparison is None else comparison.agree


def amount(number: Fraction | float, reading: Reading) -> str:
    """A difference in the base unit of a reading, to a tenth: `0.6 mm`."""
    unit = reading.value.unit if reading.value else ""
    return f"{float(number):.1f} {unit}".strip()
