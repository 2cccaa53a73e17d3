"""Small changes of a program that its tests must notice: one operator, number, bound or word at a time."""

import ast
from collections.abc import Callable, Iterator
from dataclasses import dataclass

_SWAPS: dict[type[ast.AST], str] = {
    ast.Lt: "<=", ast.LtE: "<", ast.Gt: ">=", ast.GtE: ">", ast.Eq: "!=", ast.NotEq: "==",
    ast.In: "not in", ast.NotIn: "in", ast.Is: "is not", ast.IsNot: "is",
    ast.Add: "-", ast.Sub: "+", ast.Mult: "/", ast.Div: "*", ast.And: "or", ast.Or: "and",
}  # fmt: skip
_CALLS = {"min": "max", "max": "min", "any": "all", "all": "any", "first": "last", "last": "first"}
# From where to where a node stands in the text.
Span = Callable[[ast.expr], tuple[int, int]]
# Annotations, decorators and what only names things change nothing that a rule says.
_LEFT_OUT = (ast.AnnAssign, ast.Import, ast.ImportFrom)


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One change of a file: `old` at `start` (an offset into its text) becomes `new`."""

    line: int
    start: int
    old: str
    new: str

    def applied(self, text: str) -> str:
        """The file's text with the change. Raises ValueError if the file is another one by now."""
        end = self.start + len(self.old)
        if text[self.start : end] != self.old:
            raise ValueError(f"line {self.line} no longer has {self.old!r}")
        return text[: self.start] + self.new + text[end:]


def changes_of(text: str) -> list[Change]:
    """Every change that can be made to the text of a Python file, in its order."""
    lines = [0]
    for line in text.splitlines(keepends=True):
        lines.append(lines[-1] + len(line.encode()))
    data = text.encode()

    def offset(line: int, column: int) -> int:
        return len(data[: lines[line - 1] + column].decode())

    def span(node: ast.expr) -> tuple[int, int]:
        return offset(node.lineno, node.col_offset), offset(node.end_lineno or 0, node.end_col_offset or 0)

    found: dict[int, Change] = {}
    for node in _running(ast.parse(text)):
        for line, start, old, new in _changed(node, text, span):
            found.setdefault(start, Change(line=line, start=start, old=old, new=new))
    return [found[start] for start in sorted(found)]


def _running(node: ast.AST) -> Iterator[ast.AST]:
    """The nodes of what runs, without annotations, docstrings and the words of messages."""
    for child in ast.iter_child_nodes(node):
        if isinstance(child, _LEFT_OUT) or (
            isinstance(child, ast.Expr) and isinstance(child.value, ast.Constant)
        ):
            continue
        if isinstance(child, ast.arguments):
            yield from filter(None, [*child.defaults, *child.kw_defaults])
            continue
        if child in getattr(node, "decorator_list", ()) or child is getattr(node, "returns", None):
            continue
        yield child
        yield from _running(child)


def _changed(node: ast.AST, text: str, span: Span) -> Iterator[tuple[int, int, str, str]]:
    if isinstance(node, ast.Compare) and len(node.ops) == 1:
        yield from _between(node.left, node.comparators[0], node.ops[0], text, span)
    elif isinstance(node, ast.BinOp):
        yield from _between(node.left, node.right, node.op, text, span)
    elif isinstance(node, ast.BoolOp):
        for one, two in zip(node.values, node.values[1:], strict=False):
            yield from _between(one, two, node.op, text, span)
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
        start, end = span(node)
        yield node.lineno, start, text[start:end], f"({text[start + 3 : end].strip()})"
    elif isinstance(node, ast.Constant) and type(node.value) in (int, float, bool):
        start, end = span(node)
        yield node.lineno, start, text[start:end], _other(node.value)
    elif isinstance(node, ast.Call):
        function = node.func
        name = function.id if isinstance(function, ast.Name) else getattr(function, "attr", "")
        if name in _CALLS and not node.keywords:
            end = span(function)[1]
            yield function.end_lineno or 0, end - len(name), name, _CALLS[name]


def _other(value: float) -> str:
    """Another value that somebody might have written."""
    if isinstance(value, bool):
        return str(not value)
    if isinstance(value, int):
        return str(value + 1)
    return repr(value * 1.25 if value else 1.0)


def _between(
    one: ast.expr, two: ast.expr, operator: ast.AST, text: str, span: Span
) -> Iterator[tuple[int, int, str, str]]:
    """The operator between two operands, swapped; it stands alone in the text between them."""
    swap = _SWAPS.get(type(operator))
    start, end = span(one)[1], span(two)[0]
    between = text[start:end]
    symbol = between.strip(" ()\n\\")
    if swap and symbol and "#" not in between and not (isinstance(operator, ast.Add) and _is_text(one, two)):
        at = start + between.index(symbol)
        yield text[:at].count("\n") + 1, at, symbol, swap


def _is_text(*operands: ast.expr) -> bool:
    """Words that are put together are no figure."""
    return any(
        isinstance(one, ast.JoinedStr) or (isinstance(one, ast.Constant) and isinstance(one.value, str))
        for one in operands
    )
