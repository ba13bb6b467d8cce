"""The limb cut across, to scale: wall, infill, sleeve, channel and wire with their dimensions."""

from __future__ import annotations

import math
import textwrap
from typing import Any

import numpy as np
from numpy.typing import NDArray

from data.rules import check_kind, check_number, check_numbers, refuse
from flexcalc.limb.inputs import Limb, Wire
from flexcalc.limb.shape import outline_ring
from flexcalc.limb.trade import gauge_of
from flexcalc.paper.pictures.sketch import Sheet
from flexcalc.paper.pictures.svg import (
    LETTER_SHARE,
    NARROWEST,
    checked_text,
    fitting_scale,
    line,
    number,
    page,
    path,
    scale_bar,
    words,
)
from flexcalc.section.moments import section_regions

Points = NDArray[np.float64]
PAPER = 60.0
"""Longest side of the section on paper. [mm]"""
GUTTERS = 12
"""Space beside the section, mostly for its height in words, in letters."""


def section_drawing(
    limb: Limb, *, name: str = "Cross-section", space: float = PAPER, noted: bool = True
) -> str:
    """Return the cross-section of a limb as inline SVG, to scale.

    Parameters
    ----------
    limb : Limb
        The limb; up on the drawing is up in the bending plane.
    name : str
        Title, for a screen reader.
    space : float
        Longest side of the section on paper, 10 to 60. [mm]
    noted : bool
        True with filament, wall, channel, sleeve and wire below it in words.

    Returns
    -------
    str
        An svg element with its size in mm; its scale is written on it.

    Raises
    ------
    ValueError
        For anything but a Limb, or a title longer than 500 characters.
    """
    check_kind("limb", limb, Limb, "a Limb")
    check_kind("noted", noted, bool, "True or False")
    title = checked_text("name", name)
    paper = check_number("space on paper", space, least=10.0, most=PAPER, unit="mm")
    ring = outline_ring(limb.middle_outline)
    notes = _notes(limb) if noted else []
    sheet = _sheet(ring, len(notes), paper)
    gross, core = section_regions(limb, limb.wall)
    top = sheet.height - (1.5 * len(notes) + 4) * sheet.letter
    parts = [
        _area(gross.difference(core), sheet, "solid", 0.45),
        _hatch(core, limb.infill, sheet) if limb.infill and core.area else "",
        _area(core, sheet, "core", 0.0),
        _wires(limb.wire, limb.channel_offset, sheet) if limb.wire else "",
        _dimensions(ring, sheet),
        *(
            words(sheet.letter, top + 1.5 * (i + 1) * sheet.letter, note, sheet.letter)
            for i, note in enumerate(notes)
        ),
        _bar(sheet),
    ]
    about = f"{title}: {'; '.join(notes)}."
    return page(sheet.width, sheet.height, title, about, "".join(parts))


def in_words(length: float) -> str:
    """Return a length [m] in millimetres and inches."""
    length = check_number("length", length, least=-1e6, most=1e6, unit="m")
    return f"{length * 1e3:.4g} mm ({length / 0.0254:.3g} in)"


def strand_centres(wire: Wire, centre: tuple[float, float]) -> Points:
    """Return where the strands of a wire lie (strands, 2): one in the middle, others around. [m]"""
    check_kind("wire", wire, Wire, "a Wire")
    place = check_numbers("wire centre", centre, least=-10.0, most=10.0, unit="m")
    if place.shape != (2,):
        raise refuse("wire centre", "a pair (x, y)", f"shape {place.shape}")
    middle = wire.strands in (1, 7)
    around = wire.strands - middle
    places = [(0.0, 0.0)] if middle else []
    for turn in range(around):
        radius = wire.diameter / (2 * math.sin(math.pi / around))
        angle = 2 * math.pi * turn / around
        places.append((radius * math.cos(angle), radius * math.sin(angle)))
    return np.asarray(np.array(places) + place, float)


def _sheet(ring: Points, notes: int, space: float) -> Sheet:
    low, high = ring.min(axis=0), ring.max(axis=0)
    scale = fitting_scale(float((high - low).max()), space)
    wide, tall = (float(side) * 1e3 * scale for side in high - low)
    width = max(NARROWEST, wide / (1 - GUTTERS * LETTER_SHARE))
    letter = LETTER_SHARE * width
    side = (width - wide - (GUTTERS - 4) * letter) / 2
    return Sheet(
        corner=(float(low[0]) - (side - letter) / (1e3 * scale), float(high[1])),
        scale=scale,
        margin=letter,
        letter=letter,
        width=width,
        height=tall + (1.5 * notes + 8.5) * letter,
    )


def _notes(limb: Limb) -> list[str]:
    notes = [limb.elastomer.name + (", solid" if limb.wall is None else "")]
    if limb.wall is not None:
        inside = f"infill {limb.infill * 100:.3g} %" if limb.infill else "hollow"
        notes.append(f"wall {in_words(limb.wall)}, {inside}")
    if limb.channel_diameter:
        roof = ", 45 degree roof" if limb.channel_roofed else ""
        notes.append(f"channel {in_words(limb.channel_diameter)}{roof}")
    if limb.sleeve:
        notes.append(f"sleeve {in_words(limb.sleeve)}")
    if limb.wire is not None:
        count = f"{limb.wire.strands} x " if limb.wire.strands > 1 else ""
        gauge = gauge_of(limb.wire.diameter)
        size = in_words(limb.wire.diameter)
        size = size if gauge is None else f"{gauge.name}, {size}"
        notes.append(f"wire {count}{size}, {limb.wire.metal.name}")
    longest = int(1.6 / LETTER_SHARE)  # letters are about 0.6 of their height wide
    return [row for note in notes for row in textwrap.wrap(note, longest)]


def _area(area: Any, sheet: Sheet, kind: str, opacity: float) -> str:
    from shapely import get_parts

    rings = [
        path(sheet.place(np.asarray(ring.coords)[:-1]), closed=True)
        for part in get_parts(area.simplify(2e-5 / sheet.scale))
        for ring in (part.exterior, *part.interiors)
    ]
    if not rings:
        return ""
    return (
        f'<path class="{kind}" d="{" ".join(rings)}" fill="currentColor" '
        f'fill-opacity="{opacity:g}" fill-rule="evenodd" stroke="currentColor" '
        f'stroke-width="0.4"/>'
    )


def _hatch(core: Any, infill: float, sheet: Sheet) -> str:
    """Return crossed lines over the core, closer where the infill is denser."""
    from shapely import MultiLineString, get_coordinates, get_parts

    left, low, right, high = core.bounds
    pitch = 3e-3 / sheet.scale * (1.6 - infill)
    reach = (right - left) + (high - low)
    lines = []
    for foot in np.arange(left - (high - low), right + (high - low), pitch):
        lines.append([(foot, low), (foot + reach, low + reach)])
        lines.append([(foot, high), (foot + reach, high - reach)])
    pieces = core.intersection(MultiLineString(lines))
    drawn = [path(sheet.place(get_coordinates(piece))) for piece in get_parts(pieces)]
    return (
        f'<path class="infill" d="{" ".join(drawn)}" fill="none" stroke="currentColor" '
        f'stroke-width="0.25"/>'
    )


def _wires(wire: Wire, centre: tuple[float, float], sheet: Sheet) -> str:
    radius = wire.diameter / 2 * 1e3 * sheet.scale
    circles = [
        f'<circle class="wire" cx="{number(x)}" cy="{number(y)}" r="{number(radius)}" '
        f'fill="currentColor" stroke="none"/>'
        for x, y in sheet.place(strand_centres(wire, centre))
    ]
    return "".join(circles)


def _dimensions(ring: Points, sheet: Sheet) -> str:
    letter = sheet.letter
    left, top = sheet.place(np.array([ring[:, 0].min(), ring[:, 1].max()]))
    right, bottom = sheet.place(np.array([ring[:, 0].max(), ring[:, 1].min()]))
    width, height = np.ptp(ring, axis=0)
    below, beside = bottom + 1.2 * letter, right + 1.2 * letter
    ends = [((left, below), (right, below)), ((beside, top), (beside, bottom))]
    tick = letter / 3
    parts = [line(start, stop, 0.25) for start, stop in ends]
    parts += [line((x, below - tick), (x, below + tick), 0.25) for x in (left, right)]
    parts += [line((beside - tick, y), (beside + tick, y), 0.25) for y in (top, bottom)]
    middle = (top + bottom) / 2
    parts += [
        words((left + right) / 2, below + 1.3 * letter, in_words(float(width)), letter, "middle"),
        words(beside + 0.6 * letter, middle, f"{height * 1e3:.4g} mm", letter),
        words(beside + 0.6 * letter, middle + 1.3 * letter, f"({height / 0.0254:.3g} in)", letter),
    ]
    return f'<g class="dimensions">{"".join(parts)}</g>'


def _bar(sheet: Sheet) -> str:
    y = sheet.height - 2.2 * sheet.letter
    return scale_bar(sheet.letter, y, sheet.width / 3, sheet.scale, sheet.letter)
