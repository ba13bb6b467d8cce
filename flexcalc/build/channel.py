"""The channel to draw for a wire: its diameter, roof, wall around it and mouth."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from data import read_table
from data.rules import Caution, check_choice, check_kind, check_number, check_whole, refuse
from flexcalc.build.allowance import ChannelRow, chain_rows, usual_clearance
from flexcalc.build.hole import roof_apex, roof_bridge
from flexcalc.limb.inputs import Limb
from flexcalc.limb.printer import ORIENTATIONS, Printer, hole_constant


@dataclass(frozen=True, kw_only=True)
class ChannelSize:
    """The whole chain from wire to drawing. [m]

    ``opening`` = wire + tolerance + clearance is the diameter expected in print;
    ``draw_diameter`` = opening + shrinkage is the one to draw, ``draw_low`` and ``draw_high`` one
    standard deviation each side. ``arc_shrinkage``, ``facet_shrinkage`` and ``machine_shrinkage``
    add up to ``shrinkage``; ``measured`` tells whether that comes from test holes.
    ``roof_height`` above the centre and ``roof_bridge``, the flat that closes the roof, are 0
    where there is no roof. ``least_wall`` is the material around the channel, ``entry_chamfer``
    the leg of the 45 degree chamfer at its mouth. ``rows`` shows all of it, with reasons.
    """

    orientation: str
    wire_diameter: float
    wire_tolerance: float
    clearance: float
    opening: float
    arc_shrinkage: float
    facet_shrinkage: float
    machine_shrinkage: float
    shrinkage: float
    draw_diameter: float
    draw_low: float
    draw_high: float
    measured: bool
    roofed: bool
    roof_height: float
    roof_bridge: float
    least_wall: float
    entry_chamfer: float
    rows: tuple[ChannelRow, ...] = field(repr=False)
    cautions: tuple[Caution, ...]


def size_channel(
    wire_diameter: float,
    orientation: str,
    *,
    printer: Printer | None = None,
    clearance: float | None = None,
    wire_tolerance: float | None = None,
    roof_height: float | None = None,
    facets: int | None = None,
) -> ChannelSize:
    """Return the channel to draw for a wire, with every step of the chain.

    Parameters
    ----------
    wire_diameter : float
        Of the wire, or of the circle around its strands. [m]
    orientation : str
        "upright" (the channel stands while printing) or "lying".
    printer : Printer, optional
        An untested one if left out; a measured one brings its own shrinkage.
    clearance : float, optional
        Room wanted between wire and printed channel, on the diameter; common practice if left
        out. [m]
    wire_tolerance : float, optional
        How much thicker than its name the wire may be; the printer's share if left out. [m]
    roof_height : float, optional
        Height of the flat that closes a lying channel, above the centre of the drawn channel;
        the whole roof if left out. [m]
    facets : int, optional
        Corners of the drawn circle; those of a usual drawing program if left out.

    Returns
    -------
    ChannelSize
        Whole chain, rows to show and cautions.

    Raises
    ------
    ValueError
        For impossible numbers, a roof on an upright channel, or one that cuts into the round.
    """
    if isinstance(wire_diameter, str):
        raise refuse(
            "wire diameter", "a number of metres; parse_length reads a text", wire_diameter
        )
    wire = check_number("wire diameter", wire_diameter, least=5e-5, most=0.16, unit="m")
    side = check_choice("orientation", orientation, ORIENTATIONS)
    printer = printer if printer is not None else Printer()
    check_kind("printer", printer, Printer, "a Printer or None")
    room = usual_clearance(side) if clearance is None else clearance
    slack = printer.wire_tolerance * wire if wire_tolerance is None else wire_tolerance
    corners = int(hole_constant("facets").value) if facets is None else facets
    chain = chain_rows(
        wire,
        side,
        printer,
        check_number("clearance", room, least=0.0, most=0.02, unit="m"),
        check_number("wire tolerance", slack, least=0.0, most=wire, unit="m"),
        check_whole("facets", corners, least=6, most=100000),
    )
    draw = chain[-1]
    rows = (*chain, *_shape_rows(side, draw.value, roof_height, printer))
    numbers = {row.key: row.value for row in rows}
    return ChannelSize(
        orientation=side,
        draw_low=draw.low,
        draw_high=draw.high,
        measured=side in printer.measured,
        roofed=side == "lying",
        rows=rows,
        cautions=_cautions(side, numbers, printer),
        **numbers,
    )


def sized_limb(limb: Limb, printer: Printer | None = None, orientation: str = "lying") -> Limb:
    """Return a limb with the finished channel that `size_channel` gives for its wire.

    Parameters
    ----------
    limb : Limb
        Any; one without a wire, or with its wire in the bore, stays as it is.
    printer : Printer, optional
        An untested one if left out.
    orientation : str
        How the channel lies in the printer, "lying" or "upright".

    Returns
    -------
    Limb
        Its channel is as wide as it is expected in print, ``opening``; roof, sleeve and place stay.

    Raises
    ------
    ValueError
        Where that channel does not fit the limb.
    """
    check_kind("limb", limb, Limb, "a Limb")
    side = check_choice("orientation", orientation, ORIENTATIONS)
    if limb.wire is None or limb.wire_runs_in_bore:
        return limb
    size = size_channel(limb.wire.bundle_diameter, side, printer=printer)
    return replace(limb, channel_diameter=size.opening)


def typed_channel_cautions(limb: Limb, printer: Printer, orientation: str) -> tuple[Caution, ...]:
    """Return what is wrong with a channel that was typed: too tight or too loose for its wire.

    Parameters
    ----------
    limb : Limb
        With the diameter of its finished channel; nothing is said where there is no wire in one.
    printer, orientation
        As in `sized_limb`.
    """
    check_kind("limb", limb, Limb, "a Limb")
    check_kind("printer", printer, Printer, "a Printer")
    check_choice("orientation", orientation, ORIENTATIONS)
    if limb.wire is None or limb.wire_runs_in_bore:
        return ()
    wire = limb.wire.bundle_diameter * (1 + printer.wire_tolerance)
    room = limb.channel_diameter - wire
    sized = size_channel(limb.wire.bundle_diameter, orientation, printer=printer)
    loosest = read_table("constants")["channel clearance"]["loosest"].value
    if room < printer.hole_spread(orientation) and room < 0.999 * sized.clearance:
        text = (
            f"The channel leaves the wire {room * 1e3:.2f} mm, less than holes scatter: the wire "
            f"may not go in. {sized.opening * 1e3:.2f} mm would do."
        )
        return (Caution(key="channel_tight", text=text),)
    if room > max(loosest, 1.001 * sized.clearance):
        text = (
            f"The wire has {room * 1e3:.2f} mm of room: it lies slack in its channel, and the limb "
            f"springs back by some per cent more. {sized.opening * 1e3:.2f} mm would do."
        )
        return (Caution(key="channel_loose", text=text),)
    return ()


def _shape_rows(
    side: str, draw: float, roof_height: float | None, printer: Printer
) -> tuple[ChannelRow, ...]:
    bead = printer.bead_width
    wall = hole_constant("least_wall_beads").value * bead
    chamfer = hole_constant("chamfer_beads").value * bead
    top, bridge = _roof(side, draw / 2, roof_height)
    roof = "No layer may hang over by more than 45 degrees."
    if side == "upright":
        roof = "None: a standing channel needs no roof."
    lines = (
        ("roof_height", "Roof above the centre", top, roof),
        ("roof_bridge", "Flat that closes the roof", bridge, "A flat of 1 to 2 beads bridges."),
        ("least_wall", "Wall around the channel", wall, "Two beads side by side, or it tears."),
        ("entry_chamfer", "Chamfer at the mouth", chamfer, "It guides the wire in."),
    )
    return tuple(
        ChannelRow(key=key, label=label, value=v, low=v, high=v, reason=reason)
        for key, label, v, reason in lines
    )


def _roof(side: str, radius: float, height: float | None) -> tuple[float, float]:
    """Return height and bridge of the roof, zeros for an upright channel."""
    if side == "upright":
        if height is not None:
            raise refuse("roof height", "left out for an upright channel", height)
        return 0.0, 0.0
    if height is None:
        return roof_apex(radius), 0.0
    bridge = roof_bridge(radius, height)
    return float(height), bridge


def _cautions(side: str, numbers: dict[str, float], printer: Printer) -> tuple[Caution, ...]:
    spread = printer.hole_spread(side)
    bridged = hole_constant("roof_bridge_beads").value * printer.bead_width
    found = {
        "channel_untested": (
            side not in printer.measured,
            "The shrinkage is a guess from other printers: print a strip of test holes first.",
        ),
        "channel_tight": (
            numbers["clearance"] < spread,
            "The clearance is less than the spread of the shrinkage: the wire may not go in.",
        ),
        "channel_tiny": (
            numbers["opening"] < 2 * printer.bead_width,
            "The channel is less than two beads wide: it may close up.",
        ),
        "roof_bridge": (
            numbers["roof_bridge"] > bridged,
            f"The flat of the roof is wider than {bridged * 1e3:.2g} mm: it may sag into the hole.",
        ),
    }
    return tuple(Caution(key=key, text=text) for key, (true, text) in found.items() if true)
