"""Families of like cases: some run every time, the others in the long command, or all of them as one test."""

from collections.abc import Callable, Iterable

import pytest


def some_of(cases: Iterable, *places: int) -> list:
    """Cases for `parametrize`, in tuples if a test takes several values; all but those at these places are long."""
    return [
        pytest.param(*(case if isinstance(case, tuple) else (case,)), marks=() if at in places else pytest.mark.long)
        for at, case in enumerate(cases)
    ]


def all_in_one(cases: Iterable) -> Callable:
    """Instead of `parametrize` for a hundred cases of no time each: one test, which names every case that fails.

    A case is a value, or a tuple where the test takes several.
    """
    listed = list(cases)

    def decorate(test: Callable) -> Callable:
        def every_case():
            faults = []
            for case in listed:
                try:
                    test(*(case if isinstance(case, tuple) else (case,)))
                except Exception as fault:
                    fault.add_note(f"with {case!r}")
                    faults.append(fault)
            if faults:
                raise ExceptionGroup(f"{len(faults)} cases fail", faults)

        every_case.__name__, every_case.__doc__, every_case.__module__ = test.__name__, test.__doc__, test.__module__
        return every_case

    return decorate
