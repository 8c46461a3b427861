"""Records: values that nobody changes. mypy sees to that; asking at every field of every one takes Python six times
as long to make them, and a build is some hundred thousand.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TypeVar, dataclass_transform

T = TypeVar("T")


@dataclass_transform(frozen_default=True, field_specifiers=(field,))
def record(kind: type[T]) -> type[T]:
    """A dataclass with slots that is equal and hashed by its fields."""
    return dataclass(slots=True, unsafe_hash=True)(kind)
