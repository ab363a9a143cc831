"""Read the project's own source for test_architecture.py: its files, imports and names."""

import ast
from collections.abc import Iterator
from fnmatch import fnmatch
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
APP = ROOT / "progress"


def kept_entries(folder: Path) -> list[Path]:
    """What lies in ``folder`` and belongs to the repository: neither ignored nor git's own."""
    ignored = [line.strip().rstrip("/") for line in (ROOT / ".gitignore").read_text().split("\n")]
    return [
        path
        for path in sorted(folder.iterdir())
        if path.name != ".git" and not any(fnmatch(path.name, one) for one in ignored if one)
    ]


def files_below(folder: Path, *endings: str) -> list[Path]:
    """Every file of the repository below ``folder`` with one of these endings, or any."""
    found: list[Path] = []
    for path in kept_entries(folder) if folder.is_dir() else ():
        if path.is_dir():
            found += files_below(path, *endings)
        elif not endings or path.suffix in endings:
            found.append(path)
    return found


def short(path: Path) -> str:
    """A file's name from the top of the repository."""
    return path.relative_to(ROOT).as_posix()


def module_of(path: Path) -> str:
    """The dotted name a file is imported by."""
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


@cache
def tree_of(path: Path) -> ast.Module:
    """A Python file, parsed once."""
    return ast.parse(path.read_text(encoding="utf-8"), str(path))


def imports_of(path: Path) -> Iterator[str]:
    """The full dotted name of everything a file imports, wherever in the file."""
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            start = "." * node.level + (node.module or "")
            yield from (f"{start}.{alias.name}" for alias in node.names)


def bound_names(path: Path) -> dict[str, str]:
    """What each name made by an import stands for, as a full dotted name."""
    bound = {}
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.Import):
            for alias in node.names:
                first = alias.name.partition(".")[0]
                bound[alias.asname or first] = alias.name if alias.asname else first
        elif isinstance(node, ast.ImportFrom):
            for alias in node.names:
                bound[alias.asname or alias.name] = f"{node.module}.{alias.name}"
    return bound


def dotted(node: ast.AST) -> str | None:
    """``a.b.c`` for an attribute of an attribute of a name, else None."""
    if isinstance(node, ast.Name):
        return node.id
    if isinstance(node, ast.Attribute):
        start = dotted(node.value)
        return f"{start}.{node.attr}" if start else None
    return None


def references_of(path: Path) -> Iterator[tuple[ast.expr, str]]:
    """Every imported thing a file mentions: where, and its full dotted name."""
    bound = bound_names(path)
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.Name | ast.Attribute):
            name = dotted(node)
            first, dot, rest = (name or "").partition(".")
            if first in bound:
                yield node, f"{bound[first]}{dot}{rest}"


def calls_of(path: Path) -> dict[ast.expr, ast.Call]:
    """Every call in a file, by what is called."""
    return {node.func: node for node in ast.walk(tree_of(path)) if isinstance(node, ast.Call)}


def functions_of(path: Path) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    """Every function and method of a file."""
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node
