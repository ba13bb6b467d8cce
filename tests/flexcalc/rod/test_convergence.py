"""The solvers find a rest over the whole admitted range; where one does not, a map says where.

Limbs, wires and poses are drawn evenly over the logarithm of every admitted size, each with one
chance in six of standing on an end of its range. A RuntimeError is a failure, and so is a result
that is not finite, a stretched shape, or a share that is none.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from flexcalc.limb.inputs import GRAVITY, Bend, Elastomer, Limb, Metal, Setting, Wire
from flexcalc.limb.outline import Ellipse, Outline, Round, RoundedRectangle
from flexcalc.pose.pose import hold_pose
from flexcalc.rod.rest import rest_shape
from flexcalc.section.section import limb_section
from flexcalc.spread.sample import sample_pose
from flexcalc.verdict.overbend import over_bend

Rng = np.random.Generator
REFUSAL = re.compile(r"\S.* must be \S.*; got .*", re.DOTALL)


def spread(rng: Rng, least: float, most: float) -> float:
    """A number between two ends, evenly over its logarithm, or one of the ends."""
    if rng.random() < 1 / 6:
        return float(rng.choice([least, most]))
    return float(np.clip(math.exp(rng.uniform(math.log(least), math.log(most))), least, most))


def or_zero(rng: Rng, least: float, most: float) -> float:
    return 0.0 if rng.random() < 1 / 6 else spread(rng, least, most)


def random_metal(rng: Rng) -> Metal:
    modulus = spread(rng, 1e9, 1e12)
    strongest = min(1e10, 0.2 * modulus)
    ludwik = rng.random() < 0.4
    return Metal(
        name="metal",
        elastic_modulus=modulus,
        strength_coefficient=spread(rng, max(1e6, 1e-4 * modulus), strongest),
        hardening_exponent=float(rng.choice([0.0, 0.8, rng.uniform(0.0, 0.8), 1e-6])),
        density=spread(rng, 100.0, 25000.0),
        yield_stress=spread(rng, 1e6, strongest) if ludwik else None,
    )


def random_elastomer(rng: Rng) -> Elastomer:
    modulus = spread(rng, 1e5, 1e10)
    linear = rng.random() < 0.3
    return Elastomer(
        name="elastomer",
        elastic_modulus=modulus,
        density=spread(rng, 100.0, 5000.0),
        poisson_ratio=0.48,
        saturation_stress=math.inf if linear else spread(rng, max(1e4, 1e-2 * modulus), 1e12),
        relaxation_exponent=float(rng.choice([0.0, 0.4, rng.uniform(0.0, 0.4)])),
    )


def random_outline(rng: Rng) -> Outline:
    width, height = spread(rng, 5e-4, 0.3), spread(rng, 5e-4, 0.3)
    kind = rng.integers(3)
    if kind == 0:
        return Ellipse(width=width, height=height)
    if kind == 1:
        return RoundedRectangle(width=width, height=height, corner_radius=min(width, height) / 4)
    return Round(diameter=width)


def random_limb(rng: Rng) -> Limb:
    """A solid or hollow limb without a wire, or one with a wire in a channel."""
    given: dict[str, Any] = {"elastomer": random_elastomer(rng), "length": spread(rng, 5e-3, 1.0)}
    if rng.random() < 0.3:
        outline = random_outline(rng)
        return Limb(outline=outline, **given)
    # the thickest bundle still leaves a limb within the largest outline
    wire = Wire(
        metal=random_metal(rng),
        diameter=spread(rng, 1e-4, 0.02),
        strands=int(rng.integers(1, 8)),
    )
    least = max(1.1 * wire.bundle_diameter + 3e-5, 5e-4)
    outer = spread(rng, least, 0.3)
    channel = wire.bundle_diameter
    hollow = rng.random() < 0.3 and (outer - channel) / 2 >= 1e-4
    wall = (outer - channel) / 2 if hollow else None
    return Limb(
        outline=Round(diameter=outer),
        wall=wall,
        channel_diameter=0.0 if hollow else channel,
        wire=wire,
        **given,
    )


def random_setting(rng: Rng, limb: Limb) -> Setting:
    tightest = max(limb.wire.diameter / 2 * (1 + 1e-9) if limb.wire else 0.0, 5e-4)
    start, bends = 0.0, []
    for _ in range(int(rng.integers(0, 5))):
        start += or_zero(rng, 1e-3, 1.0) * limb.length
        radius = spread(rng, tightest, 10.0)
        room = min(limb.length - start, 4 * math.pi * radius)
        if room <= 0:
            break
        angle = room / radius * float(rng.choice([1e-6, 0.3, 0.9, 0.999999]))
        side = float(rng.choice([-1.0, 1.0]))
        bends.append(Bend(start=start, angle=side * angle, radius=radius))
        start = bends[-1].end * (1 + 1e-12)
    return Setting(
        bends=tuple(bends),
        clamp_angle=float(rng.choice([0.0, math.pi / 2, math.pi, -math.pi, rng.uniform(-3, 3)])),
        payload=or_zero(rng, 1e-6, 5.0),
        hold_time=or_zero(rng, 1e-3, 1e9),
        rest_time=or_zero(rng, 1e-3, 1e9),
    )


def groups(limb: Limb, setting: Setting) -> dict[str, int]:
    """The decade of each number that the equations of a pose hold, apart from the lengths."""
    section = limb_section(limb)
    rigid = float(section.flexural_rigidity_bare[0])
    load = GRAVITY * (setting.payload + section.mass_per_length * limb.length)
    found = {"load L^2/EI": load * limb.length**2 / rigid}
    tightest = max((abs(bend.curvature) for bend in setting.bends), default=0.0)
    found["curvature L"] = tightest * limb.length
    if limb.wire is not None:
        wire = limb.wire
        stiff = wire.strands * wire.metal.elastic_modulus * math.pi / 64 * wire.diameter**4
        found["wire EI/limb EI"] = stiff / rigid
        found["wire strain"] = tightest * wire.diameter / 2
    return {name: math.floor(math.log10(v)) for name, v in found.items() if v > 0}


def failures(
    seed: int, count: int, solve: Callable[[Limb, Setting, Rng], object]
) -> tuple[int, list[tuple[str, dict[str, int], Limb, Setting]]]:
    """How many limbs were refused in words, and every failure with its reason and place."""
    refused, failed = 0, []
    for number in range(count):
        rng = np.random.default_rng([seed, number])
        limb = random_limb(rng)
        setting = random_setting(rng, limb)
        try:
            solve(limb, setting, rng)
        except ValueError as error:
            refused += 1
            if not REFUSAL.fullmatch(str(error)):
                failed.append((f"unclear refusal: {error}", groups(limb, setting), limb, setting))
        except (RuntimeError, ArithmeticError, AssertionError) as error:
            why = f"number {number}: {type(error).__name__}: {error}"
            failed.append((why, groups(limb, setting), limb, setting))
    return refused, failed


def shown(failed: Sequence[tuple[str, dict[str, int], Limb, Setting]]) -> str:
    """The map: how many failures in which decade of which number, and the first of them."""
    lines = [f"{len(failed)} failures"]
    for name in sorted({key for _, place, _, _ in failed for key in place}):
        decades = Counter(place[name] for _, place, _, _ in failed if name in place)
        lines.append(f"  {name}: " + ", ".join(f"1e{d}: {n}" for d, n in sorted(decades.items())))
    lines += [f"  {why}\n    {limb}\n    {setting}" for why, _, limb, setting in failed[:3]]
    return "\n".join(lines)


def posed(limb: Limb, setting: Setting, _: Rng) -> None:
    pose = hold_pose(limb, setting)
    for shape in (pose.shape_set, pose.shape_released, pose.shape_at_rest):
        assert np.isfinite(shape.positions).all()
        assert np.isfinite(shape.angles).all()
        steps = np.hypot(*np.diff(shape.positions, axis=0).T)
        longest = float((steps - np.diff(shape.arc_length)).max())
        assert longest <= 1e-12 * limb.length, f"stretched by {longest} m"
    assert all(-1e-9 <= share <= 1 + 1e-9 for share in pose.retained_share), pose.retained_share


def rested(limb: Limb, setting: Setting, _: Rng) -> None:
    section = limb_section(limb)
    tip, weight = GRAVITY * setting.payload, GRAVITY * section.mass_per_length
    curl = setting.bends[0].curvature if setting.bends else 0.0
    rigid = float(section.flexural_rigidity_bare[0])
    shape = rest_shape(rigid, limb.length, setting.clamp_angle, tip, weight, curl)
    assert np.isfinite(shape.positions).all()
    assert float(shape.error.max()) <= 1e-3 * limb.length


def overbent(limb: Limb, setting: Setting, rng: Rng) -> None:
    found = over_bend(limb, spread(rng, 1e-2, 2000.0))
    assert np.isfinite([found.set_curvature, found.kept_curvature, found.tightest_kept]).all()


def sampled(limb: Limb, setting: Setting, _: Rng) -> None:
    found = sample_pose(limb, setting, samples=16)
    assert np.isfinite(found.sags).all()
    assert np.all((found.retained >= -1e-9) & (found.retained <= 1 + 1e-9))


def test_poses_come_to_rest() -> None:
    refused, failed = failures(1, 400, posed)
    assert not failed, shown(failed)
    # what hangs slack is refused in words
    assert refused < 250


def test_elastic_rods_come_to_rest() -> None:
    refused, failed = failures(2, 400, rested)
    assert not failed, shown(failed)
    # loads above 1e4 EI/L^2 and bends above two turns are refused in words
    assert refused < 350


def test_over_bends_are_found() -> None:
    _, failed = failures(3, 100, overbent)
    assert not failed, shown(failed)


def test_samples_come_to_rest() -> None:
    _, failed = failures(4, 100, sampled)
    assert not failed, shown(failed)
