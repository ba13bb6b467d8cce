"""The sources of the program, found once for every test that walks over them."""

from __future__ import annotations

import importlib
from pathlib import Path
from types import ModuleType

ROOT = Path(__file__).parents[1]
PACKAGES = ("data", "flexcalc", "tinting")


def sources(*packages: str) -> list[Path]:
    """Return every module of the packages (all of them if none is named), at any depth."""
    return [path for name in packages or PACKAGES for path in sorted((ROOT / name).rglob("*.py"))]


def dotted(path: Path) -> str:
    """Return the name by which a module is imported."""
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def draws(path: Path) -> bool:
    """Return whether a module is a page of flexcalc or tinting."""
    package, *inner = path.relative_to(ROOT).with_suffix("").parts
    return package != "data" and any(part.startswith("page") for part in inner)


def modules(package: str) -> dict[str, ModuleType]:
    """Return the modules of a package that draw nothing, by their name below it."""
    names = [dotted(path) for path in sources(package) if not draws(path)]
    return {name.partition(".")[2] or "__init__": importlib.import_module(name) for name in names}
