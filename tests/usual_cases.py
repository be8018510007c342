"""Families of like cases: some run every time, the others in the long command."""

from collections.abc import Iterable

import pytest


def some_of(cases: Iterable, *places: int) -> list:
    """Cases for `parametrize`, in tuples if a test takes several values; all but those at these places are long."""
    return [
        pytest.param(*(case if isinstance(case, tuple) else (case,)), marks=() if at in places else pytest.mark.long)
        for at, case in enumerate(cases)
    ]
