"""Small changes of a program that its tests must notice: one operator, number, bound or word at a time."""

import ast
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

_SWAPS: dict[type[ast.AST], str] = {
    ast.Lt: "<=", ast.LtE: "<", ast.Gt: ">=", ast.GtE: ">", ast.Eq: "!=", ast.NotEq: "==",
    ast.In: "not in", ast.NotIn: "in", ast.Is: "is not", ast.IsNot: "is",
    ast.Add: "-", ast.Sub: "+", ast.Mult: "/", ast.Div: "*", ast.And: "or", ast.Or: "and",
}  # fmt: skip
_CALLS = {"min": "max", "max": "min", "any": "all", "all": "any", "first": "last", "last": "first"}
_ENDS = ("first", "last")
# From where to where a node stands in the text.
Span = Callable[[ast.expr], tuple[int, int]]
# Decorators, what only names things and the words of messages change nothing that a rule says.
_LEFT_OUT = (ast.Import, ast.ImportFrom, ast.JoinedStr)
# Nor do these arguments: they guard or declare, and hold for every value that a rule meets.
_DECLARING = frozenset({"strict", "slots", "frozen", "kw_only", "repr", "compare", "verbose"})
# What binary numbers may be off is no figure of the trade.
_HAIR = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One change of a file: `old` at `start` (an offset into its text) becomes `new`.

    `near`: first and last line of what runs it, its statement or, for a default, the function's body.
    `names`: what the statement gives its value to, if that is a module's or a class's own.
    """

    line: int
    start: int
    old: str
    new: str
    near: tuple[int, int] = (0, 0)
    names: tuple[str, ...] = ()

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
    for node, where in _running(ast.parse(text), _Where(near=(1, 1))):
        for line, start, old, new in _changed(node, text, span):
            found.setdefault(
                start, Change(line=line, start=start, old=old, new=new, near=where.near, names=where.names)
            )
    return [found[start] for start in sorted(found)]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Where:
    near: tuple[int, int]
    names: tuple[str, ...] = ()
    in_function: bool = False

    def of(self, statement: ast.stmt) -> "_Where":
        """Where the parts of the statement run: of one with a body its head alone."""
        body = getattr(statement, "body", None)
        last = max(statement.lineno, body[0].lineno - 1) if body else statement.end_lineno or 0
        own = () if self.in_function else tuple(_names_of(statement))
        return replace(self, near=(statement.lineno, last), names=own)


def _names_of(statement: ast.stmt) -> Iterator[str]:
    if isinstance(statement, ast.Assign):
        yield from (one.id for one in statement.targets if isinstance(one, ast.Name))
    elif isinstance(statement, ast.AnnAssign) and isinstance(statement.target, ast.Name):
        yield statement.target.id


def _lines_of_body(function: ast.FunctionDef | ast.AsyncFunctionDef) -> tuple[int, int]:
    return function.body[0].lineno, function.end_lineno or 0


def _running(node: ast.AST, where: _Where) -> Iterator[tuple[ast.AST, _Where]]:
    """The nodes of what runs, without annotations, docstrings and the words of messages."""
    is_function = isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
    for child in ast.iter_child_nodes(node):
        if isinstance(child, _LEFT_OUT) or (
            isinstance(child, ast.Expr) and isinstance(child.value, ast.Constant)
        ):
            continue
        if child in getattr(node, "decorator_list", ()) or child in (
            getattr(node, "returns", None), getattr(node, "annotation", None),
        ):  # fmt: skip
            continue
        if isinstance(child, ast.keyword) and child.arg in _DECLARING:
            continue
        if isinstance(child, ast.arguments):
            inside = (
                replace(where, near=(node.body[0].lineno, node.end_lineno or 0)) if is_function else where
            )
            for default in filter(None, [*child.defaults, *child.kw_defaults]):
                yield default, inside
                yield from _running(default, inside)
            continue
        here = replace(where, in_function=True) if is_function else where
        here = here.of(child) if isinstance(child, ast.stmt) else here
        yield child, here
        yield from _running(child, here)


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
        if isinstance(node.value, float) and 0 < abs(node.value) <= _HAIR:
            return
        start, end = span(node)
        yield node.lineno, start, text[start:end], _other(node.value)
    elif isinstance(node, ast.Call):
        function = node.func
        name = function.id if isinstance(function, ast.Name) else getattr(function, "attr", "")
        if name in _CALLS and not node.keywords and not (name in _ENDS and _is_of_one_row(function)):
            end = span(function)[1]
            yield function.end_lineno or 0, end - len(name), name, _CALLS[name]


def _is_of_one_row(function: ast.expr) -> bool:
    """Of the row with an id there is one, the first and the last."""
    return any(isinstance(node, ast.keyword) and node.arg in ("id", "pk") for node in ast.walk(function))


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
