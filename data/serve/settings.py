"""The settings of the server, told once: `.streamlit/config.toml`, which the page library reads
by itself where it is started from the project's folder, and the program hands it elsewhere."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from importlib.metadata import PackageNotFoundError, files
from pathlib import Path
from typing import Any

from data.store.folder import StoreError

DISTRIBUTION = "flexible-limb-and-tint-aid"
NAME = "config.toml"


def read_settings(folder: Path) -> dict[str, Any]:
    """Return the settings by their names with dots, such as ``server.address``.

    Parameters
    ----------
    folder : Path
        That of the program; an installed one has the file among those that came with it.

    Raises
    ------
    StoreError
        An OSError, where there is no such file: nothing is served without them.
    """
    file = folder / ".streamlit" / NAME
    if not file.is_file():
        file = _installed()
    with file.open("rb") as stream:
        return _by_name(tomllib.load(stream))


def _installed() -> Path:
    try:
        came = [file for file in files(DISTRIBUTION) or () if file.name == NAME]
    except PackageNotFoundError:
        came = []
    for file in came:
        place = Path(str(file.locate()))
        if place.is_file():
            return place
    raise StoreError(f"{NAME}, which keeps the page to this machine, is missing: install again.")


def _by_name(tree: Mapping[str, Any], prefix: str = "") -> dict[str, Any]:
    named: dict[str, Any] = {}
    for key, value in tree.items():
        if isinstance(value, dict):
            named |= _by_name(value, f"{prefix}{key}.")
        else:
            named[f"{prefix}{key}"] = value
    return named
