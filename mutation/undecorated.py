"""The same code without a decorator above a function, since mutmut leaves decorated ones alone.

`@atomic` above `def post` becomes `post = atomic(post)` on the empty line below it, so that every
line keeps its number.
"""

import ast
from collections.abc import Iterator

Function = ast.FunctionDef
LEFT_ALONE = {"staticmethod", "classmethod", "overload"}  # mutmut knows the first two


def undecorated(source: str) -> str:
    lines = source.split("\n")
    for function in reversed([*decorated(ast.parse(source))]):
        _move_decorators(lines, function)
    return "\n".join(lines)


def decorated(tree: ast.Module) -> Iterator[Function]:
    """Functions of the module and of its classes, in the order of their lines."""
    for node in tree.body:
        inner = node.body if isinstance(node, ast.ClassDef) else [node]
        for function in inner:
            if isinstance(function, Function) and _can_move(function):
                yield function


def _can_move(function: Function) -> bool:
    names = {ast.unparse(each) for each in function.decorator_list}
    return bool(names) and not names & LEFT_ALONE


def _move_decorators(lines: list[str], function: Function) -> None:
    applied = function.name
    for each in reversed(function.decorator_list):
        applied = f"{ast.unparse(each)}({applied})"
    below = " " * function.col_offset + f"{function.name} = {applied}"
    end = function.end_lineno or function.lineno
    if end < len(lines) and not lines[end].strip():
        lines[end] = below
    else:
        lines.insert(end, below)
    first = function.decorator_list[0].lineno - 1
    lines[first : function.lineno - 1] = [""] * (function.lineno - 1 - first)
