"""Turn an outline into polygons: the outer edge, the core inside the wall, the channel.

Polygons of many corners whose area is that of the curve they stand for.
"""

from __future__ import annotations

from flexcalc.outline import Outline


def check_fit(
    outline: Outline,
    wall: float | None,
    channel_diameter: float,
    channel_offset: tuple[float, float],
    channel_roofed: bool,
    bore_wire_diameter: float,
) -> None:
    """Raise a ValueError if wall, channel or the wire in the bore do not fit the outline."""
