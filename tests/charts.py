"""The colour charts whose spectra the colour library ships, found by their shape."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any


def shipped_charts() -> Iterator[Mapping[str, Any]]:
    """Yield each chart once: patch name -> spectral distribution."""
    from colour import characterisation

    seen: set[int] = set()
    for name, shelf in vars(characterisation).items():
        if not name.startswith("SDS_") or not isinstance(shelf, Mapping):
            continue
        for chart in shelf.values():
            if isinstance(chart, Mapping) and len(chart) > 1 and id(chart) not in seen:
                seen.add(id(chart))
                yield chart
