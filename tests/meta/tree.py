"""What files does the repository hold, and what does each Python file define?"""

from __future__ import annotations

import ast
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "enginesim"
TESTS = ROOT / "tests"


def python_files(folder: Path) -> list[Path]:
    return sorted(p for p in folder.rglob("*.py") if "__pycache__" not in p.parts)


def tracked_files() -> list[str] | None:
    """Paths that git tracks, or None where this is no clone (an unpacked archive)."""
    if not (ROOT / ".git").exists():
        return None
    listing = subprocess.run(
        ["git", "-c", f"safe.directory={ROOT}", "ls-files", "-z"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    return [name for name in listing.split("\0") if name]


@cache
def parsed(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"), filename=str(path))


def room(path: Path) -> str:
    """Room of a file of the package; empty for the files at its top."""
    parts = path.relative_to(PACKAGE).parts
    return parts[0] if len(parts) > 1 else ""


@dataclass(frozen=True)
class Function:
    """A public function or method as its source shows it."""

    path: Path
    name: str
    node: ast.FunctionDef
    owner: ast.Module | ast.ClassDef

    @property
    def place(self) -> str:
        return f"{self.path.relative_to(ROOT)}:{self.node.lineno} {self.name}"

    @property
    def decorators(self) -> set[str]:
        """Last word of each decorator: `kernel`, `property`, `field_validator`, ..."""
        names = set()
        for decorator in self.node.decorator_list:
            target = decorator.func if isinstance(decorator, ast.Call) else decorator
            names.add(target.attr if isinstance(target, ast.Attribute) else ast.unparse(target))
        return names

    @property
    def arguments(self) -> dict[str, str]:
        """Name: annotation, without `self` and `cls`."""
        found = self.node.args
        every = [*found.posonlyargs, *found.args, *found.kwonlyargs]
        every += [a for a in (found.vararg, found.kwarg) if a is not None]
        if isinstance(self.owner, ast.ClassDef) and "staticmethod" not in self.decorators:
            every = every[1:]
        return {a.arg: ast.unparse(a.annotation) if a.annotation else "" for a in every}

    @property
    def returns(self) -> str:
        return ast.unparse(self.node.returns) if self.node.returns else ""


@cache
def exported(room_name: str) -> frozenset[str]:
    """Names that a room's ``__init__`` lets others have."""
    front = PACKAGE / room_name / "__init__.py"
    body = parsed(front).body if front.exists() else []
    imports = (n for n in body if isinstance(n, ast.ImportFrom))
    listed = [alias.asname or alias.name for statement in imports for alias in statement.names]
    return frozenset(listed)


def is_shared(path: Path, class_name: str) -> bool:
    """Whether a class is for other rooms too: in `base` all are, elsewhere the exported ones."""
    return room(path) in ("", "base") or class_name in exported(room(path))


def public_functions() -> Iterator[Function]:
    """
    Public functions of the whole package, and public methods of its shared classes.

    A class that its room keeps to itself may describe its methods in a sentence each; the linter
    sees that they have one.
    """
    for path in python_files(PACKAGE):
        if path.stem.startswith("_") and path.stem != "__init__":
            continue
        module = parsed(path)
        owners = [module, *(n for n in module.body if isinstance(n, ast.ClassDef))]
        for owner in owners:
            prefix = ""
            if isinstance(owner, ast.ClassDef):
                if owner.name.startswith("_") or not is_shared(path, owner.name):
                    continue
                prefix = f"{owner.name}."
            for node in owner.body:
                if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                    yield Function(path, prefix + node.name, node, owner)
