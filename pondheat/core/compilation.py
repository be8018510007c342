"""One source for every formula, run in three ways: on numpy arrays, on plain floats, and compiled by numba.

A formula is a plain function marked with `formula`. It uses arithmetic, other formulas, constants of its module, and
the functions below in place of numpy's. As it stands it works on arrays. `on_floats` binds the same source to `math`,
several times faster for single numbers; `compiled` hands the same source to numba. A decision that may differ from one
element to the next is written with `where`; `some` asks whether a branch is worth taking at all.

numba is optional: where it is missing, or `PONDHEAT_COMPILE=0` is set, `compiled` returns None and its callers use
floats or arrays. It is imported at the first call of `compiled`, not before, because that takes a quarter of a second.
A page that must not pause says so once by `avoid_pauses`; `machine_code` then gives None until `ready` is told that the
code is there, and `fastest` goes on with floats. Compiled code is cached on disk. numba does not notice a change in a
function called from another file, so the cache's folder is named by a hash of all sources involved, numba's version and
Python's.
"""

from __future__ import annotations

import contextlib
import hashlib
import math
import os
import platform
import shutil
import sys
import threading
import time
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from types import FunctionType
from typing import Any, TypeVar

import numpy as np

from pondheat.core import files
from pondheat.core.places import PACKAGE

F = TypeVar("F", bound=Callable[..., Any])

exp: Any = np.exp
log: Any = np.log
cbrt: Any = np.cbrt
expm1: Any = np.expm1
where: Any = np.where
maximum: Any = np.maximum
minimum: Any = np.minimum
some: Any = np.any

_THIRD_OF_ONE = 0x2A9F7893782DA1CE  # the bits of 1 less a third of them, and so much that errors are least


def rough_cbrt(value):
    """A cube root with which a search begins: as machine code to no more than 3e-5, and faster."""
    return np.cbrt(value)


def _log(value):
    return math.log(value) if value > 0.0 else -math.inf


def _where(condition, one, other):
    return one if condition else other


def _larger(one, other):
    return one if one > other else other


def _smaller(one, other):
    return one if one < other else other


def _itself(condition):
    return condition


def _cube_root(steps: int) -> Callable:
    """A cube root for machine code, faster than numba's own, which goes through a power.

    Sizes below 1e-200 count as 0; none is above 1e200. A third of the bits is a third of the exponent: a root to 3 %,
    which Halley's method brings to 3e-5 in one step and to 1e-14 in two.
    """

    def root_of(value):
        size = abs(value)
        if size < 1e-200:
            return 0.0 * value
        root = np.int64(np.float64(size).view(np.int64) // 3 + _THIRD_OF_ONE).view(np.float64)
        for _ in range(steps):
            cube = root * root * root
            root = root * (cube + 2.0 * size) / (2.0 * cube + size)
        return root if value > 0.0 else -root

    return root_of


# What stands in for each array function where values are single floats.
_ON_FLOATS = {
    np.exp: math.exp,
    np.log: _log,
    np.cbrt: math.cbrt,
    rough_cbrt: math.cbrt,
    np.expm1: math.expm1,
    np.where: _where,
    np.maximum: _larger,
    np.minimum: _smaller,
    np.any: _itself,
}
_IN_NUMBA = _ON_FLOATS | {np.cbrt: _cube_root(2), rough_cbrt: _cube_root(1)}
FORMULAS: dict[FunctionType, str] = {}
_lock = threading.RLock()


def formula(function: F) -> F:
    """Mark a function as a formula, so that `on_floats` and `compiled` can bind it and the formulas that it calls."""
    assert isinstance(function, FunctionType)
    FORMULAS[function] = function.__module__
    return function


def _bind(function: FunctionType, replacements: dict, wrap: Callable, done: dict) -> Any:
    """The same code with its globals replaced: array functions by `replacements`, formulas by their own bound forms."""
    if function not in done:
        names = dict(function.__globals__)
        for name in function.__code__.co_names:
            value = names.get(name)
            if isinstance(value, FunctionType) and value in FORMULAS:
                names[name] = _bind(value, replacements, wrap, done)
            elif callable(value) and getattr(value, "__hash__", None) and value in replacements:
                replacement = replacements[value]
                names[name] = wrap(replacement) if isinstance(replacement, FunctionType) else replacement
        bound = FunctionType(function.__code__, names, function.__name__, function.__defaults__, function.__closure__)
        bound.__qualname__, bound.__module__ = function.__qualname__, function.__module__
        done[function] = wrap(bound)
    return done[function]


_floats_done: dict = {}
_inner_done: dict = {}  # as machine code for other machine code only
_compiled_done: dict = {}  # as machine code that Python can call


def on_floats(function: F) -> F:
    """The formula for single floats: the same source with `math` in place of numpy."""
    with _lock:
        return _bind(function, _ON_FLOATS, lambda bound: bound, _floats_done)  # type: ignore[arg-type]


def available() -> bool:
    """Whether numba is installed and wanted (`PONDHEAT_COMPILE=0` switches it off)."""
    if os.environ.get("PONDHEAT_COMPILE") == "0":
        return False
    import importlib.util

    return importlib.util.find_spec("numba") is not None


def compiled(function: F) -> F | None:
    """The formula as machine code; None where numba is not available.

    The first call compiles (seconds), or takes the code from the cache on disk (tenths of a second).
    """
    if not available():
        return None
    with _lock:
        if function not in _compiled_done:
            inner = _bind(function, _IN_NUMBA, _inner, _inner_done)  # type: ignore[arg-type]
            _compiled_done[function] = _entry(inner.py_func)
        return _compiled_done[function]


# No fastmath: sums stay those of the source. nogil: other threads go on meanwhile.
_OPTIONS: dict[str, Any] = {"nogil": True, "error_model": "numpy", "no_cfunc_wrapper": True}
_INLINED: dict[str, Any] = _OPTIONS | {"forceinline": True, "no_cpython_wrapper": True}


def _entry(function: FunctionType) -> Any:
    """Machine code that Python can call, kept on disk."""
    import numba

    return numba.njit(cache=_prepare_cache(), **_OPTIONS)(function)


def _inner(function: FunctionType) -> Any:
    """Machine code that only other machine code calls.

    It's always inlined: a call would pass dozens of numbers and count references to every array, which takes as long as
    the formulae themselves. What Python would need to call it isn't compiled, and it isn't kept on disk by itself: both
    would take a third of the time for compiling.
    """
    import numba

    return numba.njit(**_INLINED)(function)


@cache
def _prepare_cache() -> bool:
    """Tell numba where compiled code is kept; whether there is such a place."""
    import numba

    folder = cache_folder()
    if folder is not None:
        _remove_damaged(folder)
        vars(numba.config)["CACHE_DIR"] = str(folder)
    return folder is not None


_state: dict[str, Any] = {"pauses": True, "ready": False, "when_needed": None}


def avoid_pauses(when_needed: Callable[[], None] | None = None) -> None:
    """From now on nothing is compiled while somebody waits for a result.

    when_needed: called once, when machine code is next asked for; it compiles in the background, then calls `ready`.
    """
    _state["pauses"] = False
    if when_needed is not None:
        _state["when_needed"] = when_needed


def ready() -> None:
    """The machine code has been compiled, or taken from the cache, and can be used without a pause."""
    _state["ready"] = True


def is_ready() -> bool:
    """Whether machine code can be used at once."""
    return _state["ready"]


def machine_code(function: F) -> F | None:
    """The formula as machine code, if that takes no pause or a pause is acceptable; else None."""
    if _state["pauses"] or _state["ready"]:
        return compiled(function)
    when_needed, _state["when_needed"] = _state["when_needed"], None
    if when_needed is not None:
        when_needed()
    return None


def fastest(function: F) -> tuple[F, bool]:
    """The fastest form of a formula for single floats at this moment, and whether it is machine code."""
    found = machine_code(function)
    return (on_floats(function), False) if found is None else (found, True)


# --- the cache on disk --------------------------------------------------------------------------------------------

_ROOMS = ("core", "heat", "season")  # all formulas, and the constants that they use, are in these rooms


def sources_hash() -> str:
    """A hash of all sources that formulas can come from, with the versions of numba and Python."""
    import importlib.metadata

    found = hashlib.sha256(f"{importlib.metadata.version('numba')} {sys.version} {platform.machine()}".encode())
    for room in _ROOMS:
        for path in sorted((PACKAGE / room).glob("*.py")):
            found.update(path.read_bytes())
    return found.hexdigest()[:16]


def cache_folder() -> Path | None:
    """Where compiled code is kept (`core.files.cache_folder`); None where nothing can be: every start compiles anew."""
    return files.cache_folder(f"compiled-{sources_hash()}")


_FILLED = "filled"
_MONTH = 30 * 24 * 3600.0  # s


def is_filled(folder: Path) -> bool:
    """Whether all that is compiled is in this cache folder."""
    return (folder / _FILLED).exists()


def mark_filled(folder: Path) -> None:
    """Note that this cache folder holds all that is compiled; remove what was compiled over a month ago for others."""
    with contextlib.suppress(OSError):
        (folder / _FILLED).touch()
        for other in folder.parent.glob("compiled-*"):
            if other != folder and _age(other) > _MONTH:
                shutil.rmtree(other, ignore_errors=True)


@contextlib.contextmanager
def one_at_a_time(folder: Path, longest: float) -> Iterator[bool]:
    """True for the process that is to fill this cache folder; another that asks meanwhile waits for it and gets False.

    longest: seconds after which the one that is at it counts as gone.
    """
    claim = folder / "being-filled"
    if _age(claim) > longest:
        claim.unlink(missing_ok=True)
    try:
        claim.touch(exist_ok=False)
    except FileExistsError:
        while _age(claim) <= longest:
            time.sleep(0.1)
        yield False
        return
    try:
        yield True
    finally:
        claim.unlink(missing_ok=True)


def _age(path: Path) -> float:
    """Seconds since a file or folder was last changed; infinite if it isn't there."""
    try:
        return time.time() - path.stat().st_mtime
    except FileNotFoundError:
        return math.inf


def _remove_damaged(folder: Path) -> None:
    """Remove compiled code that isn't a pickle, as a power cut may leave it: numba would fail on it at every start."""
    for path in folder.rglob("*.nb[ic]"):
        with contextlib.suppress(OSError):
            if not path.read_bytes().startswith(b"\x80"):
                path.unlink()
