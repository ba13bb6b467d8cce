"""Limbs, wires and poses from the whole admitted range, for the property tests."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from hypothesis import strategies as st

from flexcalc import (
    Bend,
    DShape,
    Elastomer,
    Ellipse,
    Limb,
    LimbPlan,
    Metal,
    Polygon,
    Printer,
    Round,
    RoundedRectangle,
    Setting,
    Wire,
    Wish,
    elastomer_names,
    load_elastomer,
    load_metal,
    metal_names,
)
from flexcalc.joints.limbs import FLATTEST, flatness, limb_width
from flexcalc.limb.outline import Outline
from tests.doors import door
from tests.strategies import NAMES, Strategy, or_zero, sizes

half_thickness = door("flexcalc", "half_thickness")


@st.composite
def metals(draw: Any) -> Metal:
    if draw(st.booleans()):
        return load_metal(draw(st.sampled_from(metal_names())))
    modulus = draw(sizes(1e9, 1e12))
    strongest = min(1e10, 0.2 * modulus)
    strength = sizes(max(1e6, 1e-4 * modulus), strongest)
    return Metal(
        name=draw(NAMES),
        elastic_modulus=modulus,
        strength_coefficient=draw(strength),
        hardening_exponent=draw(st.one_of(st.just(0.0), st.floats(0.0, 0.8), sizes(1e-9, 0.8))),
        density=draw(sizes(100.0, 25000.0)),
        yield_stress=draw(st.one_of(st.none(), strength)),
        strength_factor=draw(st.floats(1.0, 3.0)),
        exponent_spread=draw(st.floats(0.0, 0.3)),
        back_stress=draw(st.floats(0.0, 0.4)),
        reversal=draw(st.sampled_from(["mixed", "isotropic", "masing"])),
    )


@st.composite
def elastomers(draw: Any) -> Elastomer:
    if draw(st.booleans()):
        return load_elastomer(draw(st.sampled_from(elastomer_names())))
    modulus = draw(sizes(1e5, 1e10))
    return Elastomer(
        name=draw(NAMES),
        elastic_modulus=modulus,
        density=draw(sizes(100.0, 5000.0)),
        poisson_ratio=draw(st.floats(0.0, 0.4999)),
        saturation_stress=draw(st.one_of(st.just(math.inf), sizes(max(1e4, 1e-2 * modulus), 1e12))),
        relaxation_exponent=draw(st.floats(0.0, 0.4)),
        modulus_factor=draw(st.floats(1.0, 5.0)),
        relaxation_spread=draw(st.floats(0.0, 0.2)),
        saturation_factor=draw(st.floats(1.0, 3.0)),
    )


def wires() -> Strategy:
    return st.builds(Wire, metal=metals(), diameter=sizes(1e-4, 0.02), strands=st.integers(1, 7))


def everyday_wires() -> Strategy:
    tabled = st.sampled_from(metal_names()).map(load_metal)
    return st.builds(Wire, metal=tabled, diameter=sizes(5e-4, 5e-3), strands=st.integers(1, 3))


@st.composite
def polygons(draw: Any) -> Polygon:
    """Star-shaped polygons around a centre; every corner stands once."""
    corners = draw(st.integers(3, 12))
    size = draw(sizes(1e-3, 0.15))
    shares = draw(st.lists(st.floats(0.3, 1.0), min_size=corners, max_size=corners))
    turn = 2 * math.pi / corners
    return Polygon(
        points=tuple(
            (size * share * math.cos(turn * i), size * share * math.sin(turn * i))
            for i, share in enumerate(shares)
        )
    )


@st.composite
def outlines(draw: Any, least: float = 5e-4, most: float = 0.3) -> Outline:
    width, height = draw(sizes(least, most)), draw(sizes(least, most))
    near = min(max(width * draw(st.floats(0.4, 2.5)), least), most)
    kind = draw(st.integers(0, 5))
    if kind == 0:
        return draw(polygons())
    if kind == 1:
        return Ellipse(width=width, height=draw(st.sampled_from([height, near])))
    if kind == 2:
        corner = min(width, near) / 2 * draw(st.floats(0.0, 1.0))
        return RoundedRectangle(width=width, height=near, corner_radius=corner)
    if kind == 3:
        return DShape(diameter=width, flat_height=width * draw(st.floats(0.01, 0.94)))
    return Round(diameter=width)


@st.composite
def limbs(draw: Any, wired: bool | None = None, wire: Strategy | None = None) -> Limb:
    """Limbs of every kind that fit together; where a drawn one does not, a plain tube."""
    outline = draw(outlines())
    half = half_thickness(outline)
    has_wire = draw(st.booleans()) if wired is None else wired
    rope = draw(wires() if wire is None else wire) if has_wire else None
    bundle = rope.bundle_diameter if rope else draw(or_zero(sizes(1e-4, half)))
    given = {
        "elastomer": draw(elastomers()),
        "length": draw(sizes(5e-3, 1.0)),
        "wire": rope,
    }
    roofed, sleeved = draw(st.booleans()), draw(st.booleans())
    try:
        return Limb(
            outline=outline,
            wall=draw(st.one_of(st.none(), sizes(0.02, 0.9).map(lambda share: share * half))),
            infill=draw(or_zero(st.floats(0.0, 1.0))),
            channel_diameter=bundle * draw(st.sampled_from([0.0, 1.0, 1.2, 2.0])),
            channel_offset=(0.0, half * draw(st.sampled_from([0.0, 0.1, -0.4]))),
            sleeve=0.1 * half if sleeved and bundle else 0.0,
            channel_roofed=roofed,
            **given,
        )
    except ValueError:
        outer = min(max(3 * bundle, 6e-4), 0.3)
        return Limb(outline=Round(diameter=outer), channel_diameter=1.05 * bundle, **given)


@st.composite
def settings_of(draw: Any, limb: Limb, most_bends: int = 4) -> Setting:
    """Settings that a limb can take: its bends fit its length and its wire."""
    tightest = max(0.6 * limb.wire.diameter if limb.wire else 0.0, 5e-4)
    start, bends = 0.0, []
    for _ in range(draw(st.integers(0, most_bends))):
        start += draw(or_zero(sizes(1e-3, 1.0))) * limb.length
        radius = draw(sizes(tightest, 10.0))
        longest = min(limb.length - start, 4 * math.pi * radius)
        if longest <= 0:
            break
        angle = longest / radius * draw(st.sampled_from([0.0, 0.3, 0.9, 0.999999]))
        angle *= draw(st.sampled_from([1, -1]))
        bends.append(Bend(start=start, angle=angle, radius=radius))
        start = bends[-1].end * (1 + 1e-12)
    # a ribbon, a stub or a fold is not followed out of its plane
    rod = flatness(limb) <= FLATTEST and limb.length >= limb_width(limb)
    if rod and all(bend.radius >= limb_width(limb) / 19 for bend in bends):
        bends = [replace(bend, swing=draw(swings())) for bend in bends]
    return Setting(
        bends=tuple(bends),
        clamp_angle=draw(st.floats(-math.pi, math.pi)),
        payload=draw(or_zero(sizes(1e-6, 5.0))),
        hold_time=draw(or_zero(sizes(1e-3, 1e9))),
        rest_time=draw(or_zero(sizes(1e-3, 1e9))),
    )


@st.composite
def posed_limbs(draw: Any, **kind: Any) -> tuple[Limb, Setting]:
    limb = draw(limbs(**kind))
    return limb, draw(settings_of(limb))


@st.composite
def everyday_limbs(draw: Any) -> Limb:
    """Tubes, rods and filled tubes of a maker, with a wire of the shop."""
    wire = draw(everyday_wires())
    outer = wire.bundle_diameter * draw(st.floats(1.6, 8.0))
    clear = wire.bundle_diameter * draw(st.floats(1.02, 1.3))
    tube = draw(st.booleans())
    return Limb(
        elastomer=load_elastomer(draw(st.sampled_from(elastomer_names()))),
        outline=Round(diameter=outer),
        length=draw(st.floats(0.03, 0.5)),
        wall=(outer - clear) / 2 if tube else None,
        channel_diameter=0.0 if tube else clear,
        wire=wire,
    )


def everyday_settings() -> Strategy:
    return everyday_limbs().flatmap(lambda limb: st.tuples(st.just(limb), settings_of(limb)))


def swings() -> Strategy:
    """Mostly none: most limbs stay in their plane."""
    half = 2 * math.pi
    return st.one_of(st.just(0.0), st.just(math.pi), st.just(0.0), st.floats(-half, half))


def bends() -> Strategy:
    turns = st.tuples(sizes(1e-6, 4 * math.pi), st.sampled_from([1, -1, 0])).map(math.prod)
    return st.builds(
        Bend,
        start=or_zero(sizes(1e-6, 1.0)),
        angle=turns,
        radius=sizes(5e-4, 10.0),
        swing=swings(),
    )


def printers() -> Strategy:
    return st.one_of(
        st.just(Printer()),
        st.builds(
            Printer,
            name=NAMES,
            bead_width=sizes(5e-5, 2e-3),
            layer_height=sizes(1e-5, 2e-3),
            hole_shrinkage_upright=st.floats(-5e-4, 2e-3),
            hole_shrinkage_lying=st.floats(-5e-4, 2e-3),
            hole_spread_upright=st.floats(0.0, 2e-3),
            hole_spread_lying=st.floats(0.0, 2e-3),
            reference_hole=sizes(2.1e-3, 0.1),
            wall_spread=st.floats(0.0, 0.5),
            wire_tolerance=st.floats(0.0, 0.2),
            measured=st.sampled_from([(), ("lying",), ("lying", "upright")]),
            kink_core=st.sampled_from(["", "hollow", "lines", "isotropic", "solid"]),
            kink_factor=st.floats(0.2, 5.0),
            kink_deviation=st.floats(0.0, 1.0),
        ),
    )


def wishes() -> Strategy:
    return st.builds(Wish, share=st.floats(0.0, 1.0), sag=sizes(1e-9, 1.0))


@st.composite
def plans(draw: Any) -> LimbPlan:
    limb, setting = draw(posed_limbs())
    return LimbPlan(
        name=draw(NAMES),
        limb=limb,
        setting=setting,
        wish=draw(wishes()),
        printer=draw(printers()),
        orientation=draw(st.sampled_from(["lying", "upright"])),
        channel="typed",
    )
