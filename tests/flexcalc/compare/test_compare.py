"""Wires compared in one limb: each row against the single limb, ranking, substitutes, refusals."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from flexcalc.compare.sections import channel_sections, softening_steepness
from flexcalc.compare.wires import WireTable, compare_wires
from flexcalc.forms.limb_form import plan_from_form
from flexcalc.limb.inputs import Along, Bend, Limb, Metal, Setting, Wire
from flexcalc.limb.materials import load_elastomer, load_metal, metal_names
from flexcalc.limb.outline import DShape, Ellipse, Outline, Polygon, Round, RoundedRectangle
from flexcalc.limb.printer import Printer
from flexcalc.limb.trade import trade_sizes, trade_wires, wire_name
from flexcalc.pose.pose import hold_pose
from flexcalc.section.elastomer import (
    effective_curvature,
    elastomer_moment,
    relaxed_share,
    section_softening,
)
from flexcalc.section.section import limb_section, section_strips
from flexcalc.spread.sample import sample_pose
from flexcalc.verdict.plan import Wish
from flexcalc.verdict.verdict import SAMPLES, assess
from flexcalc.wire.bending import bending_moment

ALUMINIUM = load_metal("annealed aluminium 1100")
HARD = load_metal("hard-drawn aluminium 1350")
COPPER = load_metal("annealed copper")
STEEL = load_metal("annealed low-carbon steel")
SPRINGY = Metal(
    name="own bronze",
    elastic_modulus=110e9,
    strength_coefficient=4e8,
    hardening_exponent=0.5,
    density=8800.0,
    yield_stress=3e8,
)
LIMB = Limb(
    elastomer=load_elastomer("TPU 80A"),
    outline=DShape(diameter=0.012, flat_height=0.0015),
    length=0.16,
    wall=0.0018,
    infill=0.1,
    channel_diameter=0.0039,
    sleeve=0.0008,
    channel_roofed=True,
)
SETTING = Setting(
    bends=(Bend(start=0.012, angle=0.9, radius=0.045), Bend(start=0.075, angle=-1.7, radius=0.042)),
    clamp_angle=2.1,
    payload=0.012,
)
MIXED = [
    Wire(metal=ALUMINIUM, diameter=0.002),
    Wire(metal=STEEL, diameter=0.0025),
    Wire(metal=SPRINGY, diameter=0.0022),
    Wire(metal=ALUMINIUM, diameter=0.0031, strands=2),
    Wire(metal=HARD, diameter=0.0036),
    Wire(metal=COPPER, diameter=0.0044),
    Wire(metal=COPPER, diameter=0.0016, strands=3),
]
BORE = Limb(
    elastomer=load_elastomer("TPU 85A"),
    outline=Round(diameter=0.012),
    length=0.1,
    wall=0.0035,
)


def against_samples(table: WireTable, wires: list[Wire], setting: Setting) -> None:
    for row in table.rows:
        close = row.fits and abs(row.probability - 0.8) < 0.08  # maybe drawn as for a verdict
        one = sample_pose(
            row.limb,
            setting,
            samples=SAMPLES if close and row.probability * 64 % 1 else 64,
            wanted_share=0.85,
            sag_limit=0.01,
            printer=Printer(),
            re_poses=50,
        )
        for mine, other in (
            (row.worst_share.low, one.worst_share.low),
            (row.worst_share.median, one.worst_share.median),
            (row.worst_share.high, one.worst_share.high),
        ):
            assert mine == pytest.approx(other, abs=2e-3)
        for mine, other in (
            (row.tip_sag.low, one.tip_sag.low),
            (row.tip_sag.median, one.tip_sag.median),
            (row.tip_sag.high, one.tip_sag.high),
        ):
            assert mine == pytest.approx(other, rel=0.02, abs=5e-5)
        # a limb at the very edge of the wish may fall to either side
        assert row.probability == pytest.approx(one.probability, abs=1 / 64 + 1e-9)
        assert row.probability_stable == pytest.approx(one.probability_stable, abs=1e-9)


def test_a_row_is_the_sampled_limb_itself() -> None:
    table = compare_wires(LIMB, SETTING, MIXED)
    assert [row.wire for row in table.rows] == MIXED
    against_samples(table, MIXED, SETTING)


def test_a_row_in_a_bore_is_the_sampled_limb_itself() -> None:
    setting = Setting(bends=(Bend(start=0.02, angle=1.5, radius=0.03),), clamp_angle=math.pi / 2)
    wires = [Wire(metal=ALUMINIUM, diameter=d) for d in (0.002, 0.003, 0.0048)]
    table = compare_wires(BORE, setting, [*wires, Wire(metal=ALUMINIUM, diameter=0.0051)])
    against_samples(table, wires, setting)
    assert all(row.limb.channel_diameter == 0 for row in table.rows)
    assert [one.reason for one in table.misfits] == ["5.1 mm do not fit the bore"]


def test_without_spread_a_row_is_the_held_pose() -> None:
    sure = replace(
        LIMB.elastomer, modulus_factor=1.0, relaxation_spread=0.0, model_deviation=0.0,
        saturation_factor=1.0,
    )  # fmt: skip
    limb = replace(LIMB, elastomer=sure, infill=0.0)
    setting = replace(SETTING, payload=0.0, temperature_spread=0.0)
    metals = [replace(m, strength_factor=1.0, exponent_spread=0.0) for m in (ALUMINIUM, STEEL)]
    wires = [Wire(metal=m, diameter=d) for m in metals for d in (0.0018, 0.0026, 0.0034)]
    printer = Printer(wall_spread=0.0, wire_tolerance=0.0)
    table = compare_wires(limb, setting, wires, printer=printer, rule="masing", samples=8)
    for row in table.rows:
        pose = hold_pose(row.limb, setting, rule="masing")
        assert row.worst_share.high - row.worst_share.low < 1e-9
        assert row.worst_share.median == pytest.approx(min(pose.retained_share), abs=3e-3)
        assert row.tip_sag.median == pytest.approx(pose.tip_sag, rel=0.03)
        curvature = 1 / 0.042
        held = float(relaxed_share(sure, setting.hold_time))
        by_hand = float(bending_moment(row.wire, curvature)) + held * float(
            elastomer_moment(section_strips(row.limb), sure, curvature)
        )
        assert row.bending_moment == pytest.approx(by_hand, rel=5e-3)
        assert row.press_force == pytest.approx(2 * row.bending_moment / table.lever, rel=1e-9)


def test_shared_tables_change_nothing_for_a_crowd() -> None:
    """Many sizes are interpolated in a family of curves, one alone is not."""
    crowd = [Wire(metal=STEEL, diameter=d) for d in np.linspace(0.9e-3, 4.1e-3, 30)]
    table = compare_wires(LIMB, SETTING, crowd)
    for row in table.rows[3::9]:
        alone = compare_wires(LIMB, SETTING, [row.wire]).rows[0]
        assert row.worst_share.median == pytest.approx(alone.worst_share.median, abs=1e-3)
        assert row.worst_share.low == pytest.approx(alone.worst_share.low, abs=1e-3)
        assert row.tip_sag.median == pytest.approx(alone.tip_sag.median, rel=0.01, abs=2e-5)


def test_wide_bends_leave_thin_wires_elastic() -> None:
    """Near yield the curves have a corner and are tabled one by one."""
    setting = Setting(bends=(Bend(start=0.0, angle=0.3, radius=0.5),), clamp_angle=0.0)
    wires = [Wire(metal=HARD, diameter=d) for d in np.linspace(0.8e-3, 5e-3, 20)]
    table = compare_wires(LIMB, setting, wires, samples=16)
    for row in (table.rows[0], table.rows[9], table.rows[-1]):
        one = sample_pose(row.limb, setting, samples=16)
        assert row.worst_share.median == pytest.approx(one.worst_share.median, abs=1e-3)


def test_a_thicker_wire_of_one_metal_holds_more() -> None:
    wires = [Wire(metal=ALUMINIUM, diameter=d) for d in np.linspace(1e-3, 4.6e-3, 19)]
    rows = compare_wires(LIMB, SETTING, wires).rows
    for name in ("probability_kept", "bending_moment", "surface_strain", "mass", "wire_mass"):
        values = [getattr(row, name) for row in rows]
        assert values == sorted(values), name
    shares = [row.worst_share.median for row in rows]
    assert shares == sorted(shares)
    lives = [row.life.low for row in rows]
    assert lives == sorted(lives, reverse=True)


def test_more_strands_hold_more_and_stretch_no_more() -> None:
    wires = [Wire(metal=ALUMINIUM, diameter=0.002, strands=n) for n in (1, 2, 3)]
    one, two, three = compare_wires(LIMB, SETTING, wires).rows
    assert one.worst_share.median < two.worst_share.median < three.worst_share.median
    assert one.surface_strain == two.surface_strain == three.surface_strain
    assert three.wire_mass == pytest.approx(3 * one.wire_mass)
    assert three.channel.opening > two.channel.opening > one.channel.opening


@pytest.fixture(scope="module")
def usual() -> WireTable:
    return compare_wires(LIMB, SETTING)


def test_the_smallest_that_holds_is_the_smallest(usual: WireTable) -> None:
    table, best = usual, usual.smallest_that_holds
    assert best is not None
    assert best.fits and best.probability >= 0.8
    assert best.name in table.sentence
    for row in table.rows:
        if row.wire.bundle_diameter < best.wire.bundle_diameter:
            assert not table.holds(row)
    metals = [row.wire.metal.name for row in table.smallest_of_each_metal]
    assert len(set(metals)) == len(metals) > 1
    # more samples of the same limb agree that it holds
    close = sample_pose(best.limb, SETTING, samples=1024, sag_limit=0.01)
    assert close.probability > 0.75


def test_the_default_list_screens_every_metal_size_and_strand(usual: WireTable) -> None:
    table = usual
    assert table.screened == len(metal_names()) * len(trade_sizes()) * 3
    found = {(row.wire.metal.name, row.wire.strands) for row in table.rows}
    missing = {(name, n) for name in metal_names() for n in (1, 2, 3)} - found
    # what has no row has no size that can be put in at all
    for name, strands in missing:
        misfits = [
            one for one in table.misfits
            if (one.wire.metal.name, one.wire.strands) == (name, strands)
        ]  # fmt: skip
        assert len(misfits) == len(trade_sizes())
    # nothing thinner than the sizes shown would have held, asked for itself
    thinnest = min(
        (row for row in table.rows if row.wire.metal == COPPER and row.wire.strands == 1),
        key=lambda row: row.wire.diameter,
    )
    thinner = [s.diameter for s in trade_sizes() if s.diameter < thinnest.wire.diameter]
    wires = [Wire(metal=COPPER, diameter=d) for d in sorted(thinner)[-3:]]
    asked = compare_wires(LIMB, SETTING, wires)
    assert asked.smallest_that_holds is None
    assert "None of these wires holds" in asked.sentence


def test_the_limbs_own_wire_has_a_row() -> None:
    own = Wire(metal=SPRINGY, diameter=0.00271)
    table = compare_wires(replace(LIMB, wire=own), SETTING, metals=[STEEL], samples=16)
    assert table.rows[0].wire == own
    assert table.rows[0].name == "own bronze, 2.71 mm"
    assert table.substitutes(own)


def test_only_the_metals_asked_for_are_screened() -> None:
    table = compare_wires(LIMB, SETTING, metals=[SPRINGY, COPPER], samples=8)
    assert {row.wire.metal for row in table.rows} == {SPRINGY, COPPER}
    assert table.screened == 2 * 3 * len(trade_sizes())


def test_substitutes_hold_as_well(usual: WireTable) -> None:
    table = usual
    best = table.smallest_that_holds
    assert best is not None
    others = table.substitutes(best.wire)
    assert len({row.system for row in others}) > 1  # mm and gauges
    assert len({row.wire.metal.name for row in others}) > 1
    assert all(table.holds(row) and row.wire != best.wire for row in others)
    moments = [row.bending_moment for row in others]
    assert moments == sorted(moments)
    weak = min(table.rows, key=lambda row: row.probability)
    for row in table.substitutes(weak.wire):
        assert row.fits and row.probability >= weak.probability


def test_a_wire_that_does_not_do_says_why() -> None:
    tight = Setting(bends=(Bend(start=0.02, angle=1.5, radius=0.012),), clamp_angle=0.0)
    wires = [Wire(metal=m, diameter=d) for m in (ALUMINIUM, STEEL) for d in (1e-3, 3e-3, 4.5e-3)]
    table = compare_wires(LIMB, tight, [*wires, Wire(metal=COPPER, diameter=0.011)])
    said = " ".join(reason for row in table.rows for reason in row.reasons)
    for words in ("stretches by", "re-poses", "too much for a hand", "kinks below R"):
        assert words in said
    assert all(not row.fits for row in table.rows)  # the limb itself kinks
    assert table.smallest_that_holds is None
    assert "None of these wires does" in table.sentence
    assert [one.name for one in table.misfits] == ["annealed copper, 11 mm"]
    folded = Setting(bends=(Bend(start=0.02, angle=1.5, radius=0.001),), clamp_angle=0.0)
    misfit = compare_wires(LIMB, folded, [Wire(metal=COPPER, diameter=0.0025)]).misfits[0]
    assert "tighter than the wire itself" in misfit.reason


def test_a_wish_and_a_life_are_heard() -> None:
    wires = [Wire(metal=ALUMINIUM, diameter=0.003)]
    easy = compare_wires(LIMB, SETTING, wires, wish=Wish(share=0.3, sag=0.1, re_poses=1)).rows[0]
    hard = compare_wires(LIMB, SETTING, wires, wish=Wish(share=0.97, sag=0.1)).rows[0]
    assert easy.probability_kept > 0.95 and easy.probability > 0.85 and hard.probability == 0
    assert easy.worst_share == hard.worst_share
    steadfast = compare_wires(LIMB, SETTING, wires, re_poses=1e7).rows[0]
    assert any("re-poses" in reason for reason in steadfast.reasons)


def test_a_straight_limb_keeps_all_of_no_bend() -> None:
    table = compare_wires(LIMB, Setting(bends=(), clamp_angle=1.0), MIXED, samples=8)
    for row in table.rows:
        assert row.worst_share.low == 1.0
        assert row.press_force == 0.0
        assert row.surface_strain == 0.0


def test_progress_is_told_and_nothing_else_changes() -> None:
    told: list[float] = []
    heard = compare_wires(LIMB, SETTING, MIXED, samples=32, progress=told.append)
    assert told[0] == 0.0 and told == sorted(told) and told[-1] < 1
    assert len(told) >= 4 and heard == compare_wires(LIMB, SETTING, MIXED, samples=32)


@pytest.mark.parametrize(
    ("outline", "offset"),
    [
        (DShape(diameter=0.012, flat_height=0.0015), 0.0),
        (Round(diameter=0.012), 0.0004),
        (Ellipse(width=0.014, height=0.011), 0.0),
        (RoundedRectangle(width=0.014, height=0.012, corner_radius=0.003), 0.0),
        (Polygon(points=((-6e-3, -5e-3), (6e-3, -5e-3), (6e-3, 5e-3), (-6e-3, 5e-3))), 0.0003),
    ],
)
@pytest.mark.parametrize("wall", [0.0012, 0.003, None])
def test_sections_over_channels_are_those_of_each_limb(
    outline: Outline, offset: float, wall: float | None
) -> None:
    limbs = [
        replace(LIMB, outline=outline, wall=wall, channel_diameter=d, channel_offset=(0.0, offset))
        for d in (0.0015, 0.0027, 0.0041)
    ]
    walls = (wall or 0.001) * np.random.default_rng(3).normal(1, 0.05, 40)
    exponents = np.full(40, 2.0)
    found, steepness = channel_sections(limbs, walls, exponents), softening_steepness(limbs, 20.0)
    for index, limb in enumerate(limbs):
        for place in range(0, 40, 13):
            printed = replace(limb, wall=float(walls[place]) if wall else None)
            section = limb_section(printed)
            for mine, other in (
                (found.rigidity, section.flexural_rigidity_bare[0]),
                (found.mass_per_length, section.mass_per_length),
            ):
                assert mine[index, place] == pytest.approx(other, rel=5e-4)
        own = section_softening(section_strips(limb), limb.elastomer)
        bent, steep = np.array([5.0, 20.0, 50.0]), float(steepness[index])
        mine = effective_curvature(found.softening, bent * steep)[0] / steep
        np.testing.assert_allclose(mine, effective_curvature(own, bent)[0], rtol=2e-3)


def test_trade_names() -> None:
    assert wire_name(Wire(metal=ALUMINIUM, diameter=2.588187e-3)) == (
        "annealed aluminium 1100, AWG 10 (2.59 mm)"
    )
    assert wire_name(Wire(metal=COPPER, diameter=1.6256e-3, strands=2)) == (
        "2 strands of annealed copper, SWG 16 (1.63 mm)"
    )
    assert wire_name(Wire(metal=COPPER, diameter=2.5e-3)) == "annealed copper, 2.5\u00a0mm"
    assert wire_name(Wire(metal=COPPER, diameter=2.61e-3)) == "annealed copper, 2.61 mm"
    assert len({wire_name(wire) for wire in trade_wires()}) == len(trade_wires())
    assert len(trade_wires((1,))) * 3 == len(trade_wires())


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        ({"limb": None}, "limb"),
        ({"setting": 3}, "setting"),
        ({"wires": []}, "wires"),
        ({"wires": "AWG 10"}, "wires"),
        ({"wires": [1.0]}, "wires"),
        ({"wires": MIXED * 200}, "wires"),
        ({"wish": 0.8}, "wish"),
        ({"printer": "mine"}, "printer"),
        ({"orientation": "askew"}, "orientation"),
        ({"samples": 7}, "samples"),
        ({"samples": 64.5}, "samples"),
        ({"samples": 1024, "wires": MIXED * 100}, "samples"),
        ({"seed": -1}, "seed"),
        ({"rule": "kinematic"}, "rule"),
        ({"re_poses": math.nan}, "re-poses"),
        ({"confidence": 1.01}, "confidence"),
        ({"wires": None, "metals": []}, "metals"),
        ({"wires": None, "metals": ["copper"]}, "metals"),
        ({"progress": 1}, "progress"),
        (
            {"setting": Setting(bends=(Bend(start=0.15, angle=1, radius=0.05),), clamp_angle=0.0)},
            "bend end",
        ),
    ],
)
def test_refusals(changes: dict[str, Any], name: str) -> None:
    arguments: dict[str, Any] = {"limb": LIMB, "setting": SETTING, "wires": MIXED[:2], **changes}
    limb, setting = arguments.pop("limb"), arguments.pop("setting")
    with pytest.raises(ValueError, match=f"^{name} must be .*; got "):
        compare_wires(limb, setting, **arguments)


def test_strangers_are_refused_by_the_table() -> None:
    table = compare_wires(LIMB, SETTING, MIXED[:2], samples=8)
    with pytest.raises(ValueError, match=r"^wire must be one of the table's rows; got "):
        table.substitutes(MIXED[3])
    with pytest.raises(ValueError, match=r"^wire must be "):
        table.row("AWG 10")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=r"^strands must be "):
        trade_wires((4,))


def test_a_close_row_says_what_the_verdict_on_its_limb_says() -> None:
    """Drawn by 64 limbs some rows would be called holding that do not hold when they are used."""
    plan = plan_from_form({"metal": "annealed low-carbon steel"})
    table = compare_wires(
        plan.limb, plan.setting, wish=plan.wish, printer=plan.printer,
        orientation=plan.orientation, metals=[load_metal("annealed low-carbon steel")],
    )  # fmt: skip
    near = [row for row in table.rows if row.fits and abs(row.probability - 0.8) < 0.02]
    assert near
    for row in near[:1]:
        likely = assess(
            row.limb, plan.setting, wish=plan.wish, printer=plan.printer,
            orientation=plan.orientation,
        ).likely  # fmt: skip
        assert row.probability == likely.probability and row.worst_share == likely.worst_share
    for row in [row for row in table.rows if table.holds(row)][:4]:
        verdict = assess(
            row.limb, plan.setting, wish=plan.wish, printer=plan.printer,
            orientation=plan.orientation,
        )  # fmt: skip
        assert verdict.state == "holds", row.name


def test_many_outlines_that_are_all_alike_are_one() -> None:
    """A limb measured at many places, as one from a mesh is, against the same limb of one outline:
    wires whose sleeve lies in the core, and one whose sleeve cuts into the wall."""
    turn = np.arange(60) * (math.pi / 30)

    def ring(size: float) -> Polygon:
        corners = np.column_stack([1.1 * size * np.cos(turn), size * np.sin(turn)])
        return Polygon(points=tuple((float(x), float(y)) for x, y in corners))

    one = replace(LIMB, outline=ring(0.008), channel_roofed=True, sleeve=0.0012)
    shares = np.linspace(0.0, 1.0, 17).tolist()
    stations = tuple((share, ring(0.008 * (1 + 1e-9 * k))) for k, share in enumerate(shares))
    many = replace(one, outline=Along(stations=stations))
    wires = [Wire(metal=COPPER, diameter=d) for d in (0.0016, 0.0025, 0.005)]
    tables = [compare_wires(limb, SETTING, wires, samples=8).rows for limb in (one, many)]
    assert len(tables[0]) == 3
    for plain, along in zip(*tables, strict=True):
        assert along.worst_share.median == pytest.approx(plain.worst_share.median, abs=3e-3)
        # many outlines have more joints: a sag of .05 mm differs by what few joints miss
        assert along.tip_sag.median == pytest.approx(plain.tip_sag.median, rel=0.03, abs=1e-5)
        assert along.mass == pytest.approx(plain.mass, rel=1e-6)
