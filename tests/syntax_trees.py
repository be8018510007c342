"""The syntax trees of Python files, made once for all tests of a worker that look at them."""

import ast
import functools
from pathlib import Path


@functools.cache
def tree_of(path: Path) -> ast.Module:
    """The syntax tree of a file."""
    return ast.parse(path.read_text(encoding="utf-8"))
