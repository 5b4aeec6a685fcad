"""Which cases of many alike every run tries, and which `-m long` alone: chosen by place in a list, never by chance."""

from collections.abc import Callable, Iterable, Sequence
from typing import Any

import pytest


def in_turn(many: Iterable[Any], few: Sequence[Any]) -> list[Any]:
    """Return every pair as parameters; by default each of `many` is tried with one of `few`, these taking turns."""
    return [
        pytest.param(one, other, marks=() if at == number % len(few) else pytest.mark.long)
        for number, one in enumerate(many)
        for at, other in enumerate(few)
    ]


def where(cases: Iterable[Any], default: Callable[[Any], bool]) -> list[Any]:
    """Return the cases as parameters; by default those alone are tried for which `default` holds."""
    return [pytest.param(each, marks=() if default(each) else pytest.mark.long) for each in cases]
