"""Sampled poses: what the spread is, what drives it, and whether the bands hold the truth.

The blind check draws limbs from the same priors with random numbers of its own and integrates
their wires fibre by fibre in small steps; it shares no code with the chain. It takes a few
seconds.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from data import read_table
from flexcalc.limb.inputs import Bend, Limb, Setting, Wire
from flexcalc.limb.materials import load_elastomer, load_metal, tensile_strength
from flexcalc.limb.outline import Round
from flexcalc.limb.printer import Printer
from flexcalc.pose.pose import hold_pose
from flexcalc.spread.drivers import first_order_shares
from flexcalc.spread.likely_hands import likely_hands
from flexcalc.spread.likely_limbs import AXES, drawn_inputs, unit_points
from flexcalc.spread.sample import sample_pose

Array = NDArray[np.float64]
LIMB = Limb(
    elastomer=load_elastomer("TPU 85A"),
    outline=Round(diameter=0.012),
    wall=0.0012,
    length=0.16,
    wire=Wire(metal=load_metal("annealed aluminium 1100"), diameter=0.003),
)
BENT = Setting(
    bends=(Bend(start=0.02, angle=1.2, radius=0.04),), clamp_angle=math.pi / 2, payload=0.02
)


@dataclass(frozen=True)
class Truth:
    """Real limbs, arrays (limbs,): modulus, saturation stress, K, n, wire radius, bore radius,
    back-stress, m."""

    modulus: Array
    saturation: Array
    strength: Array
    exponent: Array
    radius: Array
    bore: Array
    back: Array
    relaxation: Array


def drawn(limb: Limb, count: int, rng: np.random.Generator) -> Truth:
    assert limb.wire is not None and limb.wall is not None
    metal, tpu = limb.wire.metal, limb.elastomer
    exponent = np.clip(
        rng.normal(metal.hardening_exponent, metal.exponent_spread, count), 0.02, 0.8
    )
    ultimate = tensile_strength(metal) * metal.strength_factor ** rng.normal(size=count)
    wall = limb.wall * (1 + 0.05 * rng.normal(size=count))
    return Truth(
        modulus=tpu.elastic_modulus * tpu.modulus_factor ** rng.normal(size=count),
        saturation=tpu.saturation_stress * tpu.saturation_factor ** rng.normal(size=count),
        strength=ultimate * (math.e / exponent) ** exponent,
        exponent=exponent,
        radius=limb.wire.diameter / 2 * (1 + 0.01 * rng.normal(size=count)),
        bore=0.006 - wall,
        back=np.clip(rng.normal(metal.back_stress, metal.back_stress_spread, count), 0.0, 0.6),
        relaxation=tpu.relaxation_exponent + tpu.relaxation_spread * rng.normal(size=count),
    )


def tube_moment(truth: Truth, curvature: Array) -> Array:
    """Softened moment (limbs,) of 12 mm tubes, over rings of the section in polar steps."""
    angles = (np.arange(24) + 0.5) / 24 * math.pi / 2
    total = np.zeros_like(curvature)
    for share in (np.arange(8) + 0.5) / 8:
        ring = truth.bore + share * (0.006 - truth.bore)
        width = (0.006 - truth.bore) / 8
        for angle in angles:
            height = ring * math.sin(angle)
            load = truth.modulus * curvature * height
            stress = load / (1 + (np.abs(load) / truth.saturation) ** 1.7) ** (1 / 1.7)
            total = total + 4 * stress * height * ring * width * (math.pi / 2 / 24)
    return total


class Fibres:
    """Wires of many limbs, 40 fibres each, strained in small steps with one plastic correction."""

    def __init__(self, truth: Truth, E: float) -> None:
        self.truth, self.E = truth, E
        share = (np.arange(40) + 0.5) / 40
        self.heights = truth.radius[:, None] * share
        self.widths = 4 * np.sqrt(truth.radius[:, None] ** 2 - self.heights**2)
        self.widths = self.widths * truth.radius[:, None] / 40
        self.K, self.n = truth.strength[:, None], truth.exponent[:, None]
        first = (self.K / E) ** (1 / (1 - self.n))
        self.total = np.broadcast_to(first, self.heights.shape).copy()  # strain on the curve
        self.stress = np.zeros_like(self.heights)
        self.back = np.zeros_like(self.heights)
        reference = self.K * 0.0262**self.n  # total strain at a plastic one of 0.025, about
        self.limit = truth.back[:, None] * reference

    def strain(self, change: Array) -> None:
        """Bend every wire on by a change in curvature (limbs,)."""
        trial = self.stress + self.E * change[:, None] * self.heights
        side = np.sign(trial - self.back)
        flow = self.K * self.total**self.n
        plastic = self.total - flow / self.E
        fade = np.exp(-300 * plastic)
        over = np.abs(trial - self.back) - (flow - self.limit * (1 - fade))
        hardening = self.n * flow / self.total
        hardening = hardening / (1 - hardening / self.E) - 300 * self.limit * fade
        hardening = hardening + 300 * (self.limit - side * self.back)
        step = np.maximum(over, 0) / (self.E + hardening)
        self.stress = trial - self.E * side * step
        self.back = self.back + 300 * (side * self.limit - self.back) * step
        self.total = self.total + step / (1 - self.n * flow / self.total / self.E)

    def moment(self) -> Array:
        return np.asarray(np.sum(self.stress * self.heights * self.widths, axis=1))


def true_shares(limb: Limb, truth: Truth, bent: float, hold: float) -> Array:
    """Shares of the bend that stay one second after letting go, without weight."""
    assert limb.wire is not None
    fibres = Fibres(truth, limb.wire.metal.elastic_modulus)
    count = len(truth.modulus)
    for _ in range(400):
        fibres.strain(np.full(count, bent / 400))
    held = ((hold + 1) / 10) ** -truth.relaxation
    recoil = (1 / 10) ** -truth.relaxation
    first = tube_moment(truth, np.full(count, bent))
    step = bent / 500
    curvature = np.full(count, bent)
    before, rest = np.full(count, np.inf), np.zeros(count)
    for _ in range(500):
        now = tube_moment(truth, curvature)
        left = fibres.moment() + held * first + recoil * (now - first)
        crossed = (left <= 0) & (before > 0)
        with np.errstate(invalid="ignore"):
            rest = np.where(crossed, curvature - step * left / (before - left), rest)
        before = np.where(before <= 0, before, left)
        if np.all(before <= 0):
            break
        curvature = curvature - step
        fibres.strain(np.full(count, -step))
    return rest / bent


@pytest.mark.parametrize(
    ("wire", "radius", "hold", "seed"), [(0.0022, 0.05, 5.0, 11), (0.0031, 0.035, 60.0, 12)]
)
def test_blind_bands_hold_four_in_five(wire: float, radius: float, hold: float, seed: int) -> None:
    assert LIMB.wire is not None
    limb = replace(LIMB, wire=replace(LIMB.wire, diameter=wire))
    bend = Bend(start=0.02, angle=1.2, radius=radius)
    setting = Setting(bends=(bend,), clamp_angle=0.0, hold_time=hold)
    band = sample_pose(limb, setting, samples=2048, seed=3).worst_share
    truth = drawn(limb, 300, np.random.default_rng(seed))
    shares = true_shares(limb, truth, 1 / radius, hold)
    inside = np.mean((shares >= band.low) & (shares <= band.high))
    # 300 limbs: one standard deviation of the count is 2.3 %
    assert 0.75 <= inside <= 0.85
    assert np.mean(shares < band.median) == pytest.approx(0.5, abs=0.075)


def test_the_middle_of_the_blind_truth_is_hold_pose() -> None:
    assert LIMB.wire is not None
    metal, tpu = LIMB.wire.metal, LIMB.elastomer
    truth = Truth(
        modulus=np.array([tpu.elastic_modulus]),
        saturation=np.array([tpu.saturation_stress]),
        strength=np.array([metal.strength_coefficient]),
        exponent=np.array([metal.hardening_exponent]),
        radius=np.array([0.0015]),
        bore=np.array([0.0048]),
        back=np.array([metal.back_stress]),
        relaxation=np.array([tpu.relaxation_exponent]),
    )
    share = float(true_shares(LIMB, truth, 25.0, 5.0)[0])
    # small steps of 1/500 and 40 fibres
    assert hold_pose(LIMB, BENT).retained_share[0] == pytest.approx(share, abs=2e-3)


def test_no_spread_gives_the_single_pose() -> None:
    assert LIMB.wire is not None
    metal = replace(LIMB.wire.metal, strength_factor=1.0, exponent_spread=0.0)
    limb = replace(
        LIMB,
        elastomer=replace(
            LIMB.elastomer,
            modulus_factor=1.0,
            relaxation_spread=0.0,
            model_deviation=0.0,
            saturation_factor=1.0,
        ),
        wire=replace(LIMB.wire, metal=metal),
    )
    printer = Printer(wall_spread=0.0, wire_tolerance=0.0)
    setting = replace(BENT, payload=0.0, temperature_spread=0.0)
    sample = sample_pose(limb, setting, 64, rule="isotropic", printer=printer)
    pose = hold_pose(limb, setting, rule="isotropic")
    assert np.ptp(sample.retained) < 1e-9
    # the sampled chain has fewer joints and fibres
    assert sample.worst_share.median == pytest.approx(pose.retained_share[0], abs=3e-3)
    assert sample.tip_sag.median == pytest.approx(pose.tip_sag, rel=0.03, abs=1e-4)
    assert all(driver.share == 0 for driver in sample.drivers)
    assert sample.measure_next == "No single input drives the band."
    tip = sample.fan[0].positions[-1]
    assert tip == pytest.approx(pose.shape_at_rest.tip, abs=2e-3 * limb.length)


def test_bands_probabilities_and_fan_hang_together() -> None:
    bends = (*BENT.bends, Bend(start=0.1, angle=-0.8, radius=0.05))
    sample = sample_pose(LIMB, replace(BENT, bends=bends), 1024, wanted_share=0.8, sag_limit=0.004)
    assert sample.samples == 1024 == len(sample.sags)
    assert sample.retained.shape == (1024, 2)
    worst = sample.retained.min(axis=1)
    assert sample.worst_share.low == pytest.approx(np.quantile(worst, 0.1))
    assert sample.worst_share.median <= min(band.median for band in sample.retained_share)
    assert sample.probability_kept == np.mean(worst >= 0.8)
    assert sample.probability_within_sag == np.mean(sample.sags <= 0.004)
    both = sample.probability
    assert both <= min(sample.probability_kept, sample.probability_within_sag)
    assert sample.probability_stable == 1
    levels = [line.level for line in sample.fan]
    assert 9 <= len(levels) <= 15 and levels == sorted(levels)
    for line in sample.fan:
        assert np.all(line.positions[0] == 0)
        assert np.all(np.isfinite(line.positions))
    assert set(sample.inputs) == set(AXES) - {"infill exponent", "how it is bent"}


def test_the_modulus_drives_the_band_and_the_advice_says_how_to_measure_it() -> None:
    sample = sample_pose(LIMB, BENT, 1024)
    assert sample.drivers[0].name == "modulus"
    assert sample.drivers[0].share > 0.6
    assert "droop" in sample.drivers[0].measure
    assert sample.drivers[0].name in sample.measure_next
    assert sum(driver.share for driver in sample.drivers) < 1.02
    known = replace(LIMB, elastomer=replace(LIMB.elastomer, modulus_factor=1.05))
    narrow = sample_pose(known, BENT, 1024)
    linear = replace(LIMB, elastomer=replace(LIMB.elastomer, saturation_stress=math.inf))
    assert "saturation stress" not in sample_pose(linear, BENT, 16).inputs
    width = sample.worst_share.high - sample.worst_share.low
    assert narrow.worst_share.high - narrow.worst_share.low < 0.5 * width
    assert narrow.drivers[0].name != "modulus"


def test_seed_decides_and_more_samples_settle() -> None:
    first, again = sample_pose(LIMB, BENT, 256, seed=5), sample_pose(LIMB, BENT, 256, seed=5)
    np.testing.assert_array_equal(first.retained, again.retained)
    other = sample_pose(LIMB, BENT, 256, seed=6)
    assert not np.array_equal(first.retained, other.retained)
    many = sample_pose(LIMB, BENT, 2048)
    for few in (first, other):
        assert few.worst_share.median == pytest.approx(many.worst_share.median, abs=0.02)
        assert few.worst_share.low == pytest.approx(many.worst_share.low, abs=0.03)


def test_priors_are_those_of_the_tables() -> None:
    limb = replace(LIMB, infill=0.15, channel_diameter=0.0036)
    by_hand = replace(BENT, bent_by="hands", temperature=20.0)
    inputs = drawn_inputs(limb, by_hand, Printer(), unit_points(4096, 1))
    assert set(inputs) == set(AXES)
    assert np.median(inputs["modulus"]) == pytest.approx(1.0, abs=0.01)
    wider = read_table("constants")["spread"]["wider"].value
    spread = float(np.std(np.log(inputs["modulus"])))
    assert spread == pytest.approx(wider * math.log(LIMB.elastomer.modulus_factor), rel=0.02)
    softens = np.log(inputs["saturation stress"])
    # rows "TPU 85A": 3.9 to 7.7 MPa
    assert np.std(softens) == pytest.approx(wider * math.log(7.7 / 3.9) / 2, rel=0.02)
    missed = np.log(inputs["model's own error"])
    assert np.mean(missed) == pytest.approx(0.0, abs=1e-3)
    assert np.std(missed) == pytest.approx(wider * math.log(1.1 / 0.9) / 2, rel=0.02)
    assert np.mean(inputs["room's temperature"]) == pytest.approx(20.0, abs=0.05)
    assert np.std(inputs["room's temperature"]) == pytest.approx(wider * 3.0, rel=0.02)
    assert set(inputs["how it is bent"]) == {0.0, 1.0, 2.0, 3.0, 4.0}
    assert np.mean(inputs["wire diameter"]) == pytest.approx(0.003, rel=1e-3)
    assert np.std(inputs["wire diameter"]) == pytest.approx(wider * 0.00003, rel=0.02)
    assert np.std(inputs["wall"]) == pytest.approx(wider * 0.05 * 0.0012, rel=0.02)
    assert LIMB.wire is not None
    metal, share = LIMB.wire.metal, inputs["back-stress share"]
    assert share.min() > 0 and share.max() < 0.6
    assert np.mean(share) == pytest.approx(metal.back_stress, abs=3e-3)
    # cut off at 0 and 0.6
    assert np.std(share) == pytest.approx(wider * metal.back_stress_spread, rel=0.05)
    assert inputs["infill exponent"].min() >= 1
    names = list(inputs)
    table = np.corrcoef([inputs[name] for name in names]) - np.eye(len(names))
    assert np.abs(table).max() < 0.05


def test_first_order_shares_of_a_known_sum() -> None:
    rng = np.random.default_rng(4)
    x = {name: rng.uniform(-1, 1, 4096) for name in ("a", "b", "c")}
    result = 3 * x["a"] + x["b"] ** 2 + 0.5 * x["b"] * x["c"]
    whole = 9 / 3 + (1 / 5 - 1 / 9) + 0.25 / 9
    shares = first_order_shares(x, result)
    assert shares["a"] == pytest.approx(3 / whole, abs=0.02)
    assert shares["b"] == pytest.approx((1 / 5 - 1 / 9) / whole, abs=0.01)
    assert shares["c"] == pytest.approx(0.0, abs=0.01)


def test_other_limbs_sample_too() -> None:
    bare = sample_pose(replace(LIMB, wire=None), BENT, 64)
    assert bare.worst_share.high < 0.3
    assert "strength" not in bare.inputs
    solid = replace(LIMB, wall=None, channel_diameter=0.0034)
    assert "wall" not in sample_pose(solid, BENT, 64).inputs
    straight = sample_pose(LIMB, replace(BENT, bends=()), 64)
    assert straight.retained_share == ()
    assert straight.probability_kept == 1
    steel = replace(
        load_metal("annealed low-carbon steel"), yield_stress=2e8, strength_coefficient=5e8
    )
    ludwik = replace(LIMB, wire=Wire(metal=steel, diameter=0.0016, strands=2))
    for rule in ("mixed", "isotropic", "masing"):
        sample = sample_pose(ludwik, BENT, 64, rule=rule)
        assert 0 < sample.worst_share.low < sample.worst_share.high < 1
        assert ("back-stress share" in sample.inputs) == (rule == "mixed")


def test_a_limb_near_buckling_says_how_often_it_falls() -> None:
    limb = Limb(
        elastomer=replace(load_elastomer("TPU 80A"), elastic_modulus=1e7),
        outline=Round(diameter=0.008),
        length=0.3,
    )
    sample = sample_pose(limb, Setting(bends=(), clamp_angle=math.pi), 256)
    assert 0.05 < sample.probability_stable < 0.95
    assert "loses its pose" in {caution.key for caution in sample.cautions}


def test_a_limb_that_hangs_slack_counts_as_not_holding() -> None:
    """5 kg on a wire of 3 mm and on none: 9.80665 * 5 * L^2 / EI is far above 50 for the second."""
    heavy = replace(BENT, payload=5.0)
    bare = replace(LIMB, wire=None, channel_diameter=0.0, sleeve=0.0, length=0.6)
    slack = sample_pose(bare, heavy, 64, wanted_share=0.0)
    assert slack.probability == slack.probability_within_sag == slack.probability_stable == 0
    assert slack.fan == () and np.isfinite(slack.sags).all()
    assert "hangs slack" in {caution.key for caution in slack.cautions}
    hanging = sample_pose(bare, Setting(bends=(), clamp_angle=0.0, payload=5.0), 64)
    assert hanging.probability == 1 and not hanging.cautions


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: sample_pose(None, BENT), "limb must be a Limb"),
        (lambda: sample_pose(LIMB, None), "setting must be a Setting"),
        (lambda: sample_pose(LIMB, BENT, samples=3), "samples must be"),
        (lambda: sample_pose(LIMB, BENT, samples=100.5), "samples must be"),
        (lambda: sample_pose(LIMB, BENT, seed=-1), "seed must be"),
        (lambda: sample_pose(LIMB, BENT, wanted_share=2.0), "wanted share must be"),
        (lambda: sample_pose(LIMB, BENT, sag_limit=-1.0), "sag limit must be"),
        (lambda: sample_pose(LIMB, BENT, rule="x"), "rule must be"),
        (lambda: sample_pose(LIMB, BENT, printer=3), "printer must be a Printer"),
        (lambda: sample_pose(replace(LIMB, length=0.03), BENT), "bend end must be"),
    ],
)
def test_refusals(call: Any, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        call()


def test_hands_that_meet_their_marks_bend_all_limbs_more_alike() -> None:
    by_hand = replace(BENT, bent_by="hands", places=3)
    marked = replace(by_hand, lever_factor=1.0, places_missed=0)
    hands = [likely_hands(one, LIMB.length, 0.012) for one in (by_hand, marked)]
    assert {hand.setting.places for hand in hands[0]} == {2, 3, 4}
    assert {(hand.setting.places, hand.setting.lever) for hand in hands[1]} == {(3, by_hand.lever)}
    levers = np.log([hand.setting.lever for hand in hands[0]])
    wider = read_table("constants")["spread"]["wider"].value
    # row "hand, bending_lever": 30 to 60 mm
    assert np.std(levers) == pytest.approx(wider * math.log(60 / 30) / 2, rel=1e-3)
    share = {
        name: next(d.share for d in sample_pose(LIMB, one, 512).drivers if "bent" in d.name)
        for name, one in (("usual", by_hand), ("marked", marked))
    }
    assert share["marked"] < 0.5 * share["usual"]
