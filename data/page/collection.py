"""Spare what imports made from garbage collection.

The page library collects after every change of a field; walking through a hundred thousand
objects that will never be garbage takes it longer than the answer does.
"""

from __future__ import annotations

import gc
import sys

_spared: list[int] = [0]


def spare_modules() -> None:
    """Take all that is loaded out of later collections, if modules came since the last time."""
    if len(sys.modules) > _spared[-1]:
        _spared.append(len(sys.modules))
        gc.freeze()
