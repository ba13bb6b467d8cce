"""Test pieces as watertight solids: what to print before the limb, and measure.

Every piece is a flat profile pushed out straight. Marks are notches, so that they can be counted
by touch. Files are in millimetres; STL does not record its unit, 3MF does.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from data.rules import check_choice, check_kind, check_number, check_numbers, check_whole, refuse
from flexcalc.limb.inputs import Limb, outlines_of
from flexcalc.limb.printer import ORIENTATIONS, Printer
from flexcalc.limb.shape import channel_ring, core_polygon, outline_ring

NOTCH = 0.8e-3
"""Width and depth of a notch that a fingernail finds. [m]"""
PEG, LEAST_RIM, RIM_SIDE = 6e-3, 2e-3, 2e-3
"""Of a bending former: hole, least radius, and what it is wider on each side. [m]"""
FILES = ("stl", "3mf")


@dataclass(frozen=True, kw_only=True, eq=False)
class Piece:
    """A printable solid.

    ``vertices`` (n, 3) [m] and ``triangles`` (m, 3); ``profile_area`` [m2] of the flat profile
    and ``depth`` [m] it is pushed out by, so that the volume is known beforehand; ``holes`` are
    the drawn diameters [m] by ascending notch count; ``note`` says how to use it.
    """

    name: str
    vertices: NDArray[np.float64]
    triangles: NDArray[np.int64]
    profile_area: float
    depth: float
    holes: tuple[float, ...]
    note: str


def channel_strip(
    drawn_diameter: float,
    orientation: str,
    printer: Printer | None = None,
    *,
    holes: int = 7,
    step: float = 1e-4,
    depth: float = 1e-2,
) -> Piece:
    """Return a strip of channels around the wanted one, each marked by its count of notches.

    Parameters
    ----------
    drawn_diameter : float
        Diameter that the middle channel is drawn with. [m]
    orientation : str
        "upright" (holes stand) or "lying" (holes lie, with 45 degree roofs).
    printer : Printer, optional
        Gives the bead width, for walls of two beads.
    holes : int
        How many, 3 to 15.
    step, depth : float
        Difference from one channel to the next, and length of the channels. [m]

    Returns
    -------
    Piece
        Flat on the bed as it should be printed.

    Raises
    ------
    ValueError
        For a diameter, count or step out of range, or a smallest channel of nothing.
    """
    middle = check_number("drawn diameter", drawn_diameter, least=3e-4, most=0.05, unit="m")
    check_choice("orientation", orientation, ORIENTATIONS)
    holes = check_whole("holes", holes, least=3, most=15)
    step = check_number("step", step, least=1e-5, most=2e-3, unit="m")
    depth = check_number("depth", depth, least=1e-3, most=0.2, unit="m")
    bead = _checked_printer(printer).bead_width
    diameters = np.asarray(middle + step * (np.arange(holes) - (holes - 1) / 2), np.float64)
    if diameters[0] < 2e-4:
        raise refuse("step", "small enough that the smallest channel is 0.2 mm or more", step)
    lying = orientation == "lying"
    profile, centres = _strip_profile(diameters, bead, lying)
    return _piece(
        f"channel strip {orientation}",
        profile,
        depth,
        laid_down=lying,
        holes=diameters.tolist(),
        note=(
            f"Channels from {diameters[0] * 1e3:.2f} to {diameters[-1] * 1e3:.2f} mm, printed "
            f"{orientation}. Count the notches beside a channel: one is the smallest. Note the "
            f"smallest channel that your wire slides through; {len(centres)} channels."
        ),
    )


STRIP = (0.12, 0.012, 0.002)
"""Length, width and thickness of the usual droop strip. [m]"""


def droop_strip(
    length: float = STRIP[0],
    width: float = STRIP[1],
    thickness: float = STRIP[2],
    tab: float = 0.025,
) -> Piece:
    """Return a strip to clamp level by its tab; how far its end drops gives the modulus.

    All lengths [m]. The strip lies flat; two notches mark where the free length begins.
    """
    length = check_number("strip length", length, least=0.02, most=0.5, unit="m")
    width = check_number("strip width", width, least=3e-3, most=0.1, unit="m")
    thickness = check_number("strip thickness", thickness, least=4e-4, most=0.02, unit="m")
    tab = check_number("strip tab", tab, least=5e-3, most=0.2, unit="m")
    outer = _rectangle(-tab, 0.0, length, width)
    notches = [_rectangle(-NOTCH, y, 0.0, y + NOTCH) for y in (0.0, width - NOTCH)]
    return _piece(
        "droop strip",
        _cut(outer, notches),
        thickness,
        note=(
            f"Clamp the {tab * 1e3:.0f} mm tab level up to the notches, let the other "
            f"{length * 1e3:.0f} mm hang out for a minute and measure how far its end drops."
        ),
    )


def swatch_tile(
    thicknesses: Sequence[float] = (1e-3, 2e-3, 3e-3, 4e-3), *, side: float = 0.02
) -> Piece:
    """Return a stair of square fields [m], each of one wall thickness, to dye and measure."""
    lengths = check_numbers("tile thicknesses", thicknesses, least=4e-4, most=0.02, unit="m")
    if lengths.ndim != 1 or len(lengths) > 12:
        raise refuse("tile thicknesses", "1 to 12 lengths", f"shape {lengths.shape}")
    steps = lengths.tolist()
    side = check_number("tile side", side, least=5e-3, most=0.1, unit="m")
    parts = [_rectangle(i * side, 0.0, (i + 1) * side, t) for i, t in enumerate(steps)]
    listed = ", ".join(f"{t * 1e3:g}" for t in steps)
    return _piece(
        "swatch tile",
        _joined(parts),
        side,
        laid_down=True,
        note=f"Fields of {listed} mm. Dye each as planned, let it dry overnight, log the colour.",
    )


def swatch_strip(
    fields: int = 5, *, side: float = 0.02, thickness: float = 2e-3, hole: float = 4e-3
) -> Piece:
    """Return a flat strip of square fields [m] with a tab and a hole for a tag, to dye in coats.

    ``hole`` [m] is its width. Notches on both edges part the fields; the one at the tab stays bare.
    """
    count = check_whole("strip fields", fields, least=2, most=12)
    side = check_number("field side", side, least=5e-3, most=0.1, unit="m")
    thickness = check_number("strip thickness", thickness, least=4e-4, most=0.02, unit="m")
    hole = check_number("tag hole", hole, least=1e-3, most=side / 2, unit="m")
    tab = 2 * hole
    cuts = [_polygon(channel_ring(hole / 2, (-tab / 2, side / 2), False))]
    for k in range(count):
        left = k * side - NOTCH / 2
        cuts += [_rectangle(left, y, left + NOTCH, y + NOTCH) for y in (0.0, side - NOTCH)]
    return _piece(
        "swatch strip",
        _cut(_rectangle(-tab, 0.0, count * side, side), cuts),
        thickness,
        holes=(hole,),
        note=(
            f"Leave the field at the hole bare and lay more and more coats on the other "
            f"{count - 1}. A tag through the hole tells date, mix and lot."
        ),
    )


def limb_sample(limb: Limb, length: float = 0.06, drawn_channel: float | None = None) -> Piece:
    """Return a short piece [m] of the limb with its real outline and channel.

    ``drawn_channel`` [m] is the diameter to draw so that the limb's own is left in print; the
    limb's own, as if nothing shrank, where it is left out.

    A core with infill is drawn solid: the slicer makes wall and infill, as for the limb itself.
    """
    check_kind("limb", limb, Limb, "a Limb")
    length = check_number("sample length", length, least=5e-3, most=1.0, unit="m")
    ring = outline_ring(limb.middle_outline)
    profile = _polygon(ring)
    across = limb.channel_diameter
    if drawn_channel is not None and across > 0:
        across = check_number("drawn channel", drawn_channel, least=across / 2, most=2 * across)
    radius = across / 2
    if limb.wall is not None and limb.infill == 0:
        profile = _hollowed(limb, profile)
    if radius > 0:
        channel = _polygon(channel_ring(radius, limb.channel_offset, limb.channel_roofed))
        profile = profile - channel
    held = (across,) if radius > 0 else ()
    return _piece(
        "limb sample",
        profile,
        length,
        holes=held,
        note="Try the wire, bend it as planned and let it go, before printing the limb.",
    )


def bending_former(radius: float, limb: Limb) -> Piece:
    """Return a disc to bend a limb round, so that its middle takes a radius.

    Parameters
    ----------
    radius : float
        Of the bend, at the middle of the limb; up to 0.3 m. [m]
    limb : Limb
        Its thickest section decides.

    Returns
    -------
    Piece
        A disc as wide as the limb and 2 mm on each side, with a hole for a peg.

    Raises
    ------
    ValueError
        For a radius that leaves less than 2 mm for the disc.
    """
    check_kind("limb", limb, Limb, "a Limb")
    wanted = check_number("bend radius", radius, least=5e-4, most=0.3, unit="m")
    thick = max(float(np.ptp(outline_ring(outline)[:, 1])) for outline in outlines_of(limb)) / 2
    wide = max(float(np.ptp(outline_ring(outline)[:, 0])) for outline in outlines_of(limb))
    rim = wanted - thick
    if rim < LEAST_RIM:
        rule = f"at least {thick + LEAST_RIM:.3g} m, for a disc within half the limb's thickness"
        raise refuse("bend radius", rule, f"{wanted:.3g} m")
    peg = min(PEG, rim / 2)
    return _piece(
        "bending former",
        _polygon(channel_ring(rim, (0.0, 0.0))) - _polygon(channel_ring(peg / 2, (0.0, 0.0))),
        wide + 2 * RIM_SIDE,
        holes=(peg,),
        note=(
            f"Lay the limb round the disc as far as the bend goes and hold it there: its middle "
            f"then runs at R {wanted * 1e3:.1f} mm."
        ),
    )


def file_bytes(piece: Piece, kind: str) -> bytes:
    """Return a piece as a file, ``kind`` "stl" or "3mf", in millimetres."""
    import trimesh

    check_kind("piece", piece, Piece, "a Piece")
    check_choice("file kind", kind, FILES)
    mesh = trimesh.Trimesh(piece.vertices * 1e3, piece.triangles, process=False)
    mesh.units = "millimeters"
    made: Any = mesh.export(file_type=kind)
    return bytes(made)


def _checked_printer(printer: Printer | None) -> Printer:
    if printer is None:
        return Printer()
    check_kind("printer", printer, Printer, "a Printer or None")
    return printer


def _strip_profile(
    diameters: NDArray[np.float64], bead: float, roofed: bool
) -> tuple[Any, NDArray[np.float64]]:
    """Return the strip's profile and the x of its channels, notches along the top edge."""
    count = len(diameters)
    wall = max(2 * bead, 1e-3)
    pitch = max(float(diameters[-1]) + 2 * wall, 2 * NOTCH * (count + 1))
    centres = np.asarray(pitch * (np.arange(count) + 0.5), np.float64)
    tallest = float(diameters[-1]) * (1.2072 if roofed else 1.0)
    height = wall + tallest + wall + NOTCH
    profile = _rectangle(0.0, 0.0, pitch * count, height)
    cuts = []
    for index, (x, diameter) in enumerate(zip(centres, diameters, strict=True)):
        cuts.append(_polygon(channel_ring(diameter / 2, (x, wall + diameters[-1] / 2), roofed)))
        for mark in range(index + 1):
            left = x + NOTCH * (2 * mark - index - 0.5)
            cuts.append(_rectangle(left, height - NOTCH, left + NOTCH, height))
    return _cut(profile, cuts), centres


def _hollowed(limb: Limb, profile: Any) -> Any:
    core = core_polygon(limb.middle_outline, float(limb.wall or 0.0))
    for part in getattr(core, "geoms", [core]):
        if not part.is_empty:
            profile = profile - _polygon(np.asarray(part.exterior.coords)[:-1])
    if limb.sleeve > 0:
        ring = channel_ring(limb.channel_diameter / 2 + limb.sleeve, limb.channel_offset)
        profile = profile + (_polygon(ring) ^ _polygon(outline_ring(limb.middle_outline)))
    return profile


def _piece(
    name: str,
    profile: Any,
    depth: float,
    *,
    laid_down: bool = False,
    holes: Sequence[float] = (),
    note: str,
) -> Piece:
    """Push a profile out; ``laid_down`` turns it so that its y becomes the height."""
    solid = profile.extrude(depth * 1e3)
    mesh = solid.to_mesh64()
    vertices = np.asarray(mesh.vert_properties, float)[:, :3] / 1e3
    if laid_down:
        vertices = np.column_stack([vertices[:, 0], depth - vertices[:, 2], vertices[:, 1]])
    return Piece(
        name=name,
        vertices=vertices,
        triangles=np.asarray(mesh.tri_verts, np.int64),
        profile_area=profile.area() * 1e-6,
        depth=depth,
        holes=tuple(holes),
        note=note,
    )


def _polygon(ring: NDArray[np.float64]) -> Any:
    """Return a profile in mm: the solids' library counts lengths below 1e-6 as nothing."""
    from manifold3d import CrossSection, FillRule

    return CrossSection([np.asarray(ring, float) * 1e3], FillRule.NonZero)


def _rectangle(left: float, low: float, right: float, high: float) -> Any:
    """Return a rectangle from (left, low) to (right, high). [m]"""
    return _polygon(np.array([[left, low], [right, low], [right, high], [left, high]]))


def _cut(profile: Any, cuts: Sequence[Any]) -> Any:
    """Return a profile without what the cuts cover."""
    for cut in cuts:
        profile = profile - cut
    return profile


def _joined(parts: Sequence[Any]) -> Any:
    """Return all profiles as one."""
    whole = parts[0]
    for part in parts[1:]:
        whole = whole + part
    return whole
