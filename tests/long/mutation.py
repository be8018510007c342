"""Small faults put into a module's text, one at a time: a changed sign, constant or comparison."""

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

OPERATORS = {ast.Add: ("+", "-"), ast.Sub: ("-", "+"), ast.Mult: ("*", "/"), ast.Div: ("/", "*")}
COMPARISONS = {ast.Lt: ("<", ">="), ast.LtE: ("<=", ">"), ast.Gt: (">", "<="), ast.GtE: (">=", "<")}
FACTOR = 1.07  # on a constant: well beyond every tolerance, and still plausible


@dataclass(frozen=True)
class Mutant:
    """One fault: what stands in `path` from character `start` to `end` is replaced."""

    path: Path
    line: int
    start: int
    end: int
    old: str
    new: str

    def __str__(self) -> str:
        return f"{self.path.parent.name}/{self.path.name}:{self.line}: {self.old.strip()} → {self.new.strip()}"

    def text(self) -> str:
        """The module's text with the fault."""
        whole = self.path.read_text(encoding="utf-8")
        return whole[: self.start] + self.new + whole[self.end :]


class _Finder(ast.NodeVisitor):
    """Collects the places in arithmetic where a fault can be put; messages, indexes and types are left alone."""

    def __init__(self, path: Path):
        self.path, self.source = path, path.read_text(encoding="utf-8")
        lines = self.source.splitlines(keepends=True)
        self.starts = [0]
        for line in lines:
            self.starts.append(self.starts[-1] + len(line))
        self.lines = lines
        self.found: list[Mutant] = []

    def place(self, line: int, column: int) -> int:
        """The index in the text of a line and a column, which `ast` counts in bytes of UTF-8."""
        return self.starts[line - 1] + len(self.lines[line - 1].encode()[:column].decode())

    def add(self, line: int, start: int, end: int, new: str) -> None:
        self.found.append(Mutant(self.path, line, start, end, self.source[start:end], new))

    def between(self, left: ast.expr, right: ast.expr, old: str, new: str) -> None:
        """Replace an operator that stands between two expressions."""
        start, end = self.place(left.end_lineno, left.end_col_offset), self.place(right.lineno, right.col_offset)
        gap = self.source[start:end]
        if gap.count(old) == 1 and "#" not in gap:
            self.add(left.end_lineno, start, end, gap.replace(old, new))

    def visit_BinOp(self, node: ast.BinOp) -> None:
        texts = [one for one in (node.left, node.right) if isinstance(one, ast.Constant) and isinstance(one.value, str)]
        if type(node.op) in OPERATORS and not texts:
            self.between(node.left, node.right, *OPERATORS[type(node.op)])
        self.generic_visit(node)

    def visit_Compare(self, node: ast.Compare) -> None:
        if len(node.ops) == 1 and type(node.ops[0]) in COMPARISONS:
            self.between(node.left, node.comparators[0], *COMPARISONS[type(node.ops[0])])
        self.generic_visit(node)

    def visit_Constant(self, node: ast.Constant) -> None:
        if isinstance(node.value, float) and node.value not in (0.0, 1.0):
            start, end = self.place(node.lineno, node.col_offset), self.place(node.end_lineno, node.end_col_offset)
            self.add(node.lineno, start, end, repr(node.value * FACTOR))

    def skip(self, node: ast.AST) -> None:
        """Nothing in here is arithmetic."""

    visit_Raise = visit_JoinedStr = visit_Assert = visit_Subscript = visit_ImportFrom = skip

    def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
        for statement in node.body:  # not its annotations, defaults and decorators
            self.visit(statement)

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        if node.value is not None:
            self.visit(node.value)


def mutants(path: Path) -> Iterator[Mutant]:
    """Every fault that can be put into a module, in the order of its text; each still compiles."""
    finder = _Finder(path)
    finder.visit(ast.parse(finder.source))
    for one in sorted(finder.found, key=lambda mutant: mutant.start):
        compile(one.text(), str(path), "exec")
        yield one
