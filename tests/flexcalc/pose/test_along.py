"""Limbs whose outline changes along them, and limbs printed curved."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from flexcalc import (
    Along,
    Bend,
    DShape,
    Elastomer,
    Ellipse,
    Limb,
    Metal,
    Polygon,
    Round,
    Setting,
    Wire,
    hold_pose,
    load_elastomer,
    load_metal,
    sample_pose,
)
from flexcalc.build.kink import kink_radius_of
from flexcalc.compare.wires import compare_wires
from flexcalc.pose.pose import inserted_shape
from flexcalc.section.section import limb_mass, limb_section, surface_area
from flexcalc.verdict.verdict import assess

TAPERS: list[dict[str, Any]] = json.loads(
    (Path(__file__).parents[2] / "published" / "tapers.json").read_text(encoding="utf-8")
)["cases"]
WIDE = Round(diameter=0.012)
PLAIN = Limb(
    elastomer=load_elastomer("TPU 85A"),
    outline=WIDE,
    wall=0.0014,
    length=0.16,
    wire=Wire(metal=load_metal("annealed aluminium 1100"), diameter=0.003),
)
SETTING = Setting(
    bends=(Bend(start=0.03, angle=1.2, radius=0.04),),
    clamp_angle=math.pi / 2,
    payload=0.01,
    rest_time=60.0,
)
EVEN = replace(PLAIN, outline=Along(stations=((0.0, WIDE), (0.4, WIDE), (1.0, WIDE))))
TAPER = replace(
    PLAIN, outline=Along(stations=((0.0, Round(diameter=0.014)), (1.0, Round(diameter=0.01))))
)


@pytest.mark.parametrize("bent_by", ["former", "hands"])
def test_an_even_outline_along_the_limb_is_the_plain_one(bent_by: str) -> None:
    setting = replace(SETTING, bent_by=bent_by)
    one, other = hold_pose(PLAIN, setting), hold_pose(EVEN, setting)
    for name in ("retained_share", "loaded_share", "peak_curvature", "press_force"):
        assert getattr(one, name) == pytest.approx(getattr(other, name), rel=1e-12)
    np.testing.assert_allclose(
        one.shape_at_rest.positions, other.shape_at_rest.positions, atol=1e-13
    )
    assert limb_section(PLAIN) == limb_section(EVEN)
    assert surface_area(PLAIN) == pytest.approx(surface_area(EVEN), rel=1e-12)
    assert limb_mass(PLAIN) == pytest.approx(limb_mass(EVEN), rel=1e-12)
    assert kink_radius_of(PLAIN) == kink_radius_of(EVEN)
    drawn = sample_pose(PLAIN, setting, 64), sample_pose(EVEN, setting, 64)
    np.testing.assert_allclose(drawn[0].retained, drawn[1].retained, rtol=1e-12)


@pytest.mark.parametrize("case", TAPERS, ids=[case["id"] for case in TAPERS])
def test_the_cases_of_tapered_limbs(case: dict[str, Any]) -> None:
    """The cases of published/test_tapers.py, through the doors."""
    inputs, expected = case["inputs"], case["expected"]
    metal = Metal(
        name="perfectly plastic",
        elastic_modulus=inputs["E_wire"],
        strength_coefficient=inputs["yield"],
        hardening_exponent=0.0,
        density=inputs["wire_density"],
        back_stress=0.0,
    )
    tpu = Elastomer(
        name="linear",
        elastic_modulus=inputs["E_tpu"],
        density=inputs["density"],
        poisson_ratio=0.48,
        saturation_stress=math.inf,
        relaxation_exponent=0.0,
    )
    first = inputs["diameter"]
    limb = Limb(
        elastomer=tpu,
        outline=Along(
            stations=(
                (0.0, Round(diameter=first)),
                (1.0, Round(diameter=first * inputs["taper"])),
            )
        ),
        length=inputs["length"],
        channel_diameter=inputs["wire"],
        wire=Wire(metal=metal, diameter=inputs["wire"]),
    )
    start, end, bent = inputs["bend"]
    bend = Bend(start=start, angle=bent * (end - start), radius=1 / bent)
    setting = Setting(bends=(bend,), clamp_angle=inputs["clamp"], payload=inputs["payload"])
    pose = hold_pose(limb, setting)
    # the cases' sections have no channel, which takes (d/D)^4 off the rigidity and the mass
    bore = (inputs["wire"] / min(first, first * inputs["taper"])) ** 2
    length = inputs["length"]
    assert pose.shape_released.tip == pytest.approx(expected["released_tip"], abs=bore * length)
    assert pose.shape_at_rest.tip == pytest.approx(expected["resting_tip"], abs=bore * length)
    middle = np.interp(
        (start + end) / 2,
        (pose.shape_released.arc_length[1:] + pose.shape_released.arc_length[:-1]) / 2,
        pose.shape_released.curvature,
    )
    assert middle == pytest.approx(expected["kept_curvature"][1], rel=0.02)


def test_a_taper_keeps_less_where_it_is_thick() -> None:
    pose, plain = hold_pose(TAPER, SETTING), hold_pose(PLAIN, SETTING)
    inside = (pose.shape_set.curvature > 1) & (pose.shape_set.arc_length[1:] < 0.08)
    kept = pose.shape_released.curvature[inside]
    assert np.all(np.diff(kept) > 0)  # it thins out along the bend
    assert pose.least_curvature[0] == pytest.approx(kept[0], rel=0.02)
    assert pose.retained_share[0] < plain.retained_share[0]  # the bend is in the thick half
    first, last = (
        limb_section(replace(PLAIN, outline=Round(diameter=0.014))),
        limb_section(replace(PLAIN, outline=Round(diameter=0.01))),
    )
    middle = limb_section(PLAIN)
    mean = (first.mass_per_length + 4 * middle.mass_per_length + last.mass_per_length) / 6
    assert limb_mass(TAPER) == pytest.approx(mean * 0.16, rel=1e-12)
    assert (
        kink_radius_of(TAPER).radius
        == kink_radius_of(replace(PLAIN, outline=Round(diameter=0.014))).radius
    )


def test_a_tapered_limb_is_sampled_compared_and_judged() -> None:
    setting = replace(SETTING, bent_by="hands", rest_time=0.0)
    pose = hold_pose(TAPER, setting)
    sample = sample_pose(TAPER, setting, 64)
    assert sample.worst_share.low < pose.retained_share[0] < sample.worst_share.high
    assert TAPER.wire is not None
    row = compare_wires(TAPER, setting, [TAPER.wire], samples=64).rows[0]
    assert row.worst_share.median == pytest.approx(sample.worst_share.median, abs=0.02)
    verdict = assess(TAPER, setting)
    kink = next(check for check in verdict.checks if check.key == "kink")
    assert kink.bound == pytest.approx(1 / pose.peak_curvature[0], rel=1e-9)


def test_printed_curved_and_posed() -> None:
    """NATURAL-1 of published/test_histories.py through the doors: .8632 at once, .8753 after an
    hour; a straight wire leaves 14.34 of 25 1/m before."""
    tpu = Elastomer(
        name="case",
        elastic_modulus=12e6,
        density=1180.0,
        poisson_ratio=0.48,
        saturation_stress=5.5e6,
        relaxation_exponent=0.06,
    )
    metal = Metal(
        name="case",
        elastic_modulus=69e9,
        strength_coefficient=166.69e6,
        hardening_exponent=0.265,
        density=2700.0,
        back_stress=0.27,
    )
    round_limb = Round(diameter=0.01)
    limb = Limb(
        elastomer=tpu,
        outline=Along(
            stations=((0.0, round_limb), (1.0, round_limb)),
            natural_curvature=((0.0, 25.0), (1.0, 25.0)),
        ),
        length=0.06,
        channel_diameter=0.0034,
        wire=Wire(metal=metal, diameter=0.002),
    )
    setting = Setting(bends=(Bend(start=0.01, angle=1.0, radius=0.03),), clamp_angle=0.0)
    for rest, share, elsewhere in ((0.0, 0.86319, 13.910), (3600.0, 0.87526, 13.890)):
        pose = hold_pose(limb, replace(setting, rest_time=rest))
        assert pose.retained_share[0] == pytest.approx(share, abs=4e-3)
        assert pose.shape_released.curvature[0] == pytest.approx(elsewhere, abs=0.1)
        assert pose.shape_set.curvature[0] == pytest.approx(14.335, rel=2e-3)
    shape = inserted_shape(limb)
    assert shape.curvature == pytest.approx(14.335, rel=2e-3)
    curve = next(one for one in assess(limb, setting).checks if one.key == "curve")
    assert curve.value == pytest.approx(0.5734, abs=2e-3)
    assert curve.state == "fails"
    other = replace(setting, bends=(Bend(start=0.01, angle=-1.0, radius=0.045),))
    assert hold_pose(limb, other).retained_share[0] == pytest.approx(-0.10135, abs=4e-3)
    posed_longer = replace(setting, last_bends=other.bends, last_time=1e6)
    with pytest.raises(ValueError, match="inserted before must be at least the time of the poses"):
        hold_pose(limb, posed_longer)
    at_once = hold_pose(replace(limb, inserted_before=0.0), setting)
    assert at_once.retained_share[0] == pytest.approx(30.726 * 0.03, abs=4e-3)


SQUARE = Polygon(points=((-0.006, -0.006), (0.006, -0.006), (0.006, 0.006), (-0.006, 0.006)))
SIX = Polygon(
    points=tuple((0.006 * math.cos(a), 0.006 * math.sin(a)) for a in np.arange(6) * math.pi / 3)
)


def test_outlines_between_stations() -> None:
    oval = Along(
        stations=(
            (0.0, Ellipse(width=0.012, height=0.010)),
            (0.5, Ellipse(width=0.010, height=0.008)),
            (1.0, Ellipse(width=0.006, height=0.008)),
        )
    )
    assert oval.outline_at(0.75) == Ellipse(width=0.008, height=0.008)
    assert oval.outline_at(0.5) == Ellipse(width=0.010, height=0.008)
    flats = Along(
        stations=(
            (0.0, DShape(diameter=0.012, flat_height=0.002)),
            (1.0, DShape(diameter=0.010, flat_height=-0.003)),
        )
    )
    # 3 mm below the centre of a 10 mm circle is 2 mm above its lowest point
    assert flats.outline_at(0.5) == DShape(diameter=0.011, flat_height=0.002)
    mixed = Along(stations=((0.0, SQUARE), (1.0, SIX)))
    ring = np.array(mixed.outline_at(0.0).points)  # type: ignore[union-attr]
    assert np.abs(ring).max() == pytest.approx(0.006, rel=1e-9)
    curved = Along(stations=((0.0, WIDE), (1.0, WIDE)), natural_curvature=((0, 0.0), (1, 20.0)))
    assert curved.natural_at(0.25) == pytest.approx(5.0)


@pytest.mark.parametrize(
    ("stations", "words"),
    [
        (((0.0, WIDE),), "outline stations must be 2 to 50 pairs"),
        (((0.0, WIDE), (0.9, WIDE)), "from share 0 to share 1"),
        (((0.0, WIDE), (0.5, WIDE), (0.5, WIDE), (1.0, WIDE)), "shares that rise"),
        (((0.0, WIDE), (1.0, SQUARE)), "outlines of one kind"),
        (((0.0, WIDE), (1.0, 3)), "pairs \\(share, outline\\)"),
        (7, "pairs of a share and a value"),
    ],
)
def test_refusals(stations: Any, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        Along(stations=stations)


def test_a_wall_must_fit_all_along() -> None:
    thin = Along(stations=((0.0, WIDE), (1.0, Round(diameter=0.0025))))
    with pytest.raises(ValueError, match="wall must be"):
        replace(PLAIN, outline=thin)
