"""The channel's chain: sums, inverses, a measured printer, roofs, cautions, refusals."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from shapely import Polygon as Area

from flexcalc.build.allowance import expected_shrinkage
from flexcalc.build.channel import ChannelSize, size_channel, sized_limb, typed_channel_cautions
from flexcalc.build.hole import arc_shrinkage, facet_shrinkage, path_radius, roof_apex, roof_area
from flexcalc.limb.inputs import Limb, Wire
from flexcalc.limb.materials import load_elastomer, load_metal
from flexcalc.limb.outline import Round
from flexcalc.limb.printer import Printer
from flexcalc.limb.shape import channel_ring

SIDES = pytest.mark.parametrize("side", ["upright", "lying"])


def keys(size: ChannelSize) -> list[str]:
    return [caution.key for caution in size.cautions]


@SIDES
@pytest.mark.parametrize("wire", [0.001, 0.00205, 0.004])
def test_the_chain_adds_up(side: str, wire: float) -> None:
    got = size_channel(wire, side)
    opening = got.wire_diameter + got.wire_tolerance + got.clearance
    assert got.opening == pytest.approx(opening, rel=1e-12)
    parts = got.arc_shrinkage + got.facet_shrinkage + got.machine_shrinkage
    assert got.shrinkage == pytest.approx(parts, rel=1e-9)
    assert got.draw_diameter == pytest.approx(opening + got.shrinkage, rel=1e-12)
    assert wire < got.opening < got.draw_diameter  # a printed hole is smaller than drawn
    assert got.draw_low < got.draw_diameter < got.draw_high


@pytest.mark.parametrize(
    ("side", "least", "most"), [("upright", 0.0004, 0.0006), ("lying", 0.0005, 0.0008)]
)
def test_an_untested_printer_gets_the_usual_allowance(side: str, least: float, most: float) -> None:
    """Common practice for a wire of 1.6 to 3 mm, besides the wire's own tolerance."""
    for wire in (0.0016, 0.002, 0.003):
        got = size_channel(wire, side, wire_tolerance=0.0)
        assert least < got.draw_diameter - wire < most
        assert "channel_untested" in keys(got)


def test_the_drawn_hole_shrinks_back_to_the_opening() -> None:
    """Second route: forward through bead path and facets, with bead and corners far from usual."""
    printer = Printer(bead_width=0.0008, hole_shrinkage_upright=0.00035)
    got = size_channel(0.0016, "upright", printer=printer, clearance=0.0004, facets=12)
    flats = got.draw_diameter * math.cos(math.pi / 12)
    lost = got.draw_diameter - flats + arc_shrinkage(got.draw_diameter, 0.0008)
    assert got.draw_diameter - lost - got.machine_shrinkage == pytest.approx(got.opening, rel=1e-12)
    # a path half a bead outside the drawn circle is the one that leaves the shrunk hole
    shrunk = math.sqrt(got.draw_diameter**2 - 0.0008**2)
    assert path_radius(shrunk, 0.0008) == pytest.approx((0.0008 + got.draw_diameter) / 2)


def test_the_reference_hole_shrinks_as_the_printer_says() -> None:
    printer = Printer(hole_shrinkage_upright=0.00027, reference_hole=0.0025, measured=("upright",))
    first = size_channel(0.002, "upright", printer=printer, clearance=0.0, wire_tolerance=0.0)
    room = 0.0025 - 0.00027 - 0.002
    got = size_channel(0.002, "upright", printer=printer, clearance=room, wire_tolerance=0.0)
    assert got.draw_diameter == pytest.approx(0.0025, rel=1e-9)
    assert got.measured and "channel_untested" not in keys(got)
    assert "channel_tight" in keys(first)


def test_a_measurement_changes_the_drawing_and_not_the_room() -> None:
    printer = Printer(
        hole_shrinkage_upright=0.0004, hole_spread_upright=0.00003, measured=("upright",)
    )
    before, after = size_channel(0.002, "upright"), size_channel(0.002, "upright", printer=printer)
    assert after.opening == before.opening
    # holes of 2.5 to 2.7 mm shrink more than the reference hole of 3 mm
    assert 0.00013 * 3 / 3 < after.draw_diameter - before.draw_diameter < 0.00013 * 3 / 2.5
    assert after.draw_high - after.draw_low < 0.5 * (before.draw_high - before.draw_low)
    spread = (after.draw_high - after.draw_low) / 2
    assert spread == pytest.approx(math.hypot(0.00003, 0.00002), rel=1e-9)
    lying = size_channel(0.002, "lying", printer=printer)
    assert not lying.measured and "channel_untested" in keys(lying)


def test_roof_of_a_lying_channel() -> None:
    whole = size_channel(0.002, "lying")
    radius = whole.draw_diameter / 2
    assert whole.roofed and whole.roof_bridge == 0
    assert whole.roof_height == roof_apex(radius)
    assert Area(channel_ring(radius, (0, 0), True)).area == pytest.approx(
        roof_area(radius), rel=1e-9
    )
    cut = size_channel(0.002, "lying", roof_height=radius * 1.1)
    assert cut.roof_bridge == pytest.approx(2 * radius * (math.sqrt(2) - 1.1))
    assert "roof_bridge" not in keys(cut)
    wide = size_channel(0.004, "lying", roof_height=0.00236)
    assert wide.roof_bridge > 0.0009 and "roof_bridge" in keys(wide)
    standing = size_channel(0.002, "upright")
    assert (standing.roofed, standing.roof_height, standing.roof_bridge) == (False, 0.0, 0.0)


def test_the_wall_is_two_beads() -> None:
    assert size_channel(0.002, "lying").least_wall == pytest.approx(0.0009)
    wide = size_channel(0.002, "lying", printer=Printer(bead_width=0.0006))
    assert wide.least_wall == pytest.approx(0.0012)
    assert wide.entry_chamfer == pytest.approx(0.0006)


@SIDES
def test_every_row_has_its_reason_and_its_field(side: str) -> None:
    got = size_channel(0.002, side)
    for row in got.rows:
        assert getattr(got, row.key) == row.value
        assert row.low <= row.value <= row.high
        assert row.reason.endswith(".") and row.label
    names = [row.key for row in got.rows]
    assert len(names) == len(set(names)) == 13


def test_a_channel_narrower_than_two_beads_is_doubtful() -> None:
    assert "channel_tiny" in keys(size_channel(0.0004, "upright"))
    assert "channel_tiny" not in keys(size_channel(0.002, "upright"))


def test_a_smaller_hole_loses_more_by_the_arc() -> None:
    assert size_channel(0.001, "upright").shrinkage > size_channel(0.004, "upright").shrinkage
    assert facet_shrinkage(0.002, 12) > facet_shrinkage(0.002, 24)


@pytest.mark.parametrize(
    ("arguments", "given", "words"),
    [
        ((0.0, "upright"), {}, "wire diameter must be"),
        ((math.nan, "upright"), {}, "wire diameter must be"),
        ((0.002, "flat"), {}, "orientation must be one of upright, lying"),
        ((0.002, None), {}, "orientation must be"),
        ((0.002, "lying"), {"printer": "mine"}, "printer must be a Printer or None"),
        ((0.002, "lying"), {"clearance": -1e-4}, "clearance must be"),
        ((0.002, "lying"), {"wire_tolerance": 0.003}, "wire tolerance must be"),
        ((0.002, "lying"), {"facets": 6.5}, "facets must be a whole number"),
        ((0.002, "lying"), {"roof_height": 0.001}, "roof height must be"),
        ((0.002, "lying"), {"roof_height": "high"}, "roof height must be"),
        ((0.002, "lying"), {"roof_height": 0.01}, "roof height must be"),
        ((0.002, "upright"), {"roof_height": 0.0015}, "roof height must be left out"),
        (
            (0.0001, "upright"),
            {"printer": Printer(hole_shrinkage_upright=-5e-4), "clearance": 0.0},
            "hole shrinkage must be",
        ),
    ],
)
def test_refusals(arguments: tuple[float, str], given: dict[str, object], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        size_channel(*arguments, **given)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"bead_width": 0.0}, "bead width must be"),
        ({"bead_width": 0.002, "reference_hole": 0.0015}, "reference hole must be"),
        ({"hole_spread_lying": -1e-5}, "hole spread lying must be"),
        ({"measured": ("sideways",)}, "printer measured must be one of"),
        ({"measured": "upright"}, "printer measured must be a tuple"),
        ({"name": ""}, "printer name must be"),
    ],
)
def test_printers_refuse(given: dict[str, object], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        Printer(**given)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="orientation must be"):
        Printer().hole_spread("up")


def test_small_holes_shrink_more() -> None:
    """The machine's part as one over the diameter; arc and facets by their own formulas."""
    printer = Printer(hole_shrinkage_upright=0.0003)
    rest = 0.0003 - arc_shrinkage(0.003, 0.00045) - facet_shrinkage(0.003, 64)
    for hole in (0.0015, 0.004, 0.01):
        wanted = rest * 0.003 / hole + arc_shrinkage(hole, 0.00045) + facet_shrinkage(hole, 64)
        assert expected_shrinkage(hole, "upright", printer) == pytest.approx(wanted, rel=1e-12)
    got = size_channel(0.002, "upright", printer=printer)
    drawn = got.draw_diameter
    assert got.shrinkage == pytest.approx(expected_shrinkage(drawn, "upright", printer), rel=1e-9)


def test_a_change_of_wire_changes_the_channel() -> None:
    thin = Wire(metal=load_metal("annealed copper"), diameter=0.002)
    limb = Limb(
        elastomer=load_elastomer("TPU 85A"), outline=Round(diameter=0.012), length=0.1,
        wall=0.0012, infill=0.15, sleeve=0.0008, channel_diameter=0.004, wire=thin,
    )  # fmt: skip
    printer = Printer(hole_shrinkage_lying=0.0004)
    got = sized_limb(limb, printer, "lying")
    assert got.channel_diameter == size_channel(0.002, "lying", printer=printer).opening
    assert replace(got, channel_diameter=0.004) == limb and sized_limb(got, printer, "lying") == got
    thick = sized_limb(replace(limb, wire=replace(thin, diameter=0.003)), printer, "upright")
    assert thick.channel_diameter - got.channel_diameter > 0.0008
    bare, bore = replace(limb, wire=None), replace(limb, infill=0.0, sleeve=0.0, channel_diameter=0)
    assert sized_limb(bare, printer, "lying") is bare and sized_limb(bore, printer, "lying") is bore
    with pytest.raises(ValueError, match="channel"):
        sized_limb(replace(limb, outline=Round(diameter=0.0042), wall=None, infill=0.0, sleeve=0.0,
                           wire=replace(thin, diameter=0.0039)), printer, "lying")  # fmt: skip


@pytest.mark.parametrize(("room", "key"), [(0.0001, "channel_tight"), (0.0009, "channel_loose")])
def test_a_typed_channel_is_judged(room: float, key: str) -> None:
    wire = Wire(metal=load_metal("annealed copper"), diameter=0.002)
    limb = Limb(
        elastomer=load_elastomer("TPU 85A"), outline=Round(diameter=0.012), length=0.1,
        channel_diameter=0.0025, wire=wire,
    )  # fmt: skip
    printer = Printer()
    assert typed_channel_cautions(sized_limb(limb, printer, "lying"), printer, "lying") == ()
    typed = replace(limb, channel_diameter=0.002 + room)
    assert [c.key for c in typed_channel_cautions(typed, printer, "lying")] == [key]
