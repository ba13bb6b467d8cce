"""The heart: how much of a bend a limb keeps, and how it rests under its own weight.

Always true of the model: no friction of the wire in its channel, no kink at the channel's
mouth, no shear, no twist, no poses out of one plane. The retained shares are model results
that no published experiment backs; a bench measurement of one limb is worth more.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from data.rules import Array, Caution, check_kind, refuse
from flexcalc.limb.inputs import GRAVITY, Limb, Setting
from flexcalc.pose.batch import FINE, LimbBatch, PosedBatch, load_share, posed_batch
from flexcalc.pose.cautions import bend_cautions, rest_cautions
from flexcalc.pose.retained import check_wire_fits
from flexcalc.pose.retained import retained_bend as retained_bend
from flexcalc.pose.stretches import LEAST_STRETCH, positions_of
from flexcalc.rod.chain import SLACK
from flexcalc.section.elastomer import section_softening
from flexcalc.section.section import limb_section, section_strips
from flexcalc.wire.bending import rebent_limb, wire_bundle
from flexcalc.wire.bundle import loading_moment


@dataclass(frozen=True, kw_only=True)
class Shape:
    """A limb's centre line at stations from the clamp to the tip.

    ``arc_length`` (n,) [m]; ``positions`` (n, 2), x to the right and y up from the clamp [m];
    ``angles`` (n,) from straight down [rad]; ``curvature`` (n - 1,) between stations, positive
    where the limb curls upward [1/m].
    """

    arc_length: Array
    positions: Array
    angles: Array
    curvature: Array

    def __repr__(self) -> str:
        x, y = self.tip
        return f"Shape({len(self.arc_length)} stations, tip at {x:.4g}, {y:.4g} m)"

    @property
    def tip(self) -> tuple[float, float]:
        """Where the tip is, (x, y) from the clamp. [m]"""
        return float(self.positions[-1, 0]), float(self.positions[-1, 1])


@dataclass(frozen=True, kw_only=True)
class Moments:
    """What works against what. [N m]

    ``root``: of weight and payload about the clamp, positive where they push the limb down from
    x > 0; ``wire`` and ``elastomer``: one per bend, the wire's moment as bent and the
    elastomer's pull at the moment of letting go, both without sign.
    """

    root: float
    wire: tuple[float, ...]
    elastomer: tuple[float, ...]


@dataclass(frozen=True, kw_only=True)
class Pose:
    """A limb as set by hand, after letting go, and at rest under its weight and payload.

    ``retained_share``: one per bend, of its curvature without weight at the setting's rest time
    (1 for a bend of no angle); ``tip_sag`` [m]: how far the tip falls from the released to the
    resting shape; ``stable``: False where the limb lost its pose and fell to another one.
    """

    shape_set: Shape
    shape_released: Shape
    shape_at_rest: Shape
    retained_share: tuple[float, ...]
    tip_sag: float
    moments: Moments
    stable: bool
    cautions: tuple[Caution, ...]


def hold_pose(
    limb: Limb, setting: Setting, rule: str | None = None, back_stress: float | None = None
) -> Pose:
    """Return a limb as set, after letting go, and at rest under its weight and payload.

    Parameters
    ----------
    limb : Limb
        The limb; its own shape without wire and weight is straight.
    setting : Setting
        Bends, clamp, payload, hold and rest time. "At once" (rest time 0) is one second after
        letting go; the released shape is the weightless one at the rest time.
    rule, back_stress : str, float, optional
        In place of the ``reversal`` and ``back_stress`` of the wire's metal.

    Returns
    -------
    Pose

    Raises
    ------
    ValueError
        For a bend beyond the limb's length or tighter than the wire, a load over 50 EI/L^2 where
        the limb does not hang straight down, and bad arguments.
    RuntimeError
        With the inputs, if the rod solver does not converge.

    Notes
    -----
    One path per section: bent, let go without weight, then loaded; see the modules release and
    batch. Source: own; checked against a spectral elastica with fibre return mapping.
    """
    limb = rebent_limb(limb, rule, back_stress)
    check_bends(limb, setting)
    if hangs_slack(limb, setting):
        weighs = limb_section(limb).mass_per_length * limb.length
        name, got = ("payload", f"{setting.payload:g} kg")
        if setting.payload < weighs:
            name, got = ("limb length", f"{limb.length:g} m")
        raise refuse(name, f"less: loaded over {SLACK:g} EI/L^2 the limb hangs slack", got)
    batch = batch_of_one(limb, setting)
    settled = posed_batch(batch, setting, limb.length, FINE)
    as_set = _shape(settled, settled.angles_set)
    released = _shape(settled, settled.angles_released[0])
    resting = _shape(settled, settled.angles_at_rest[0])
    stable = bool(settled.stable[0])
    return Pose(
        shape_set=as_set,
        shape_released=released,
        shape_at_rest=resting,
        retained_share=tuple(float(share) for share in settled.retained[0]),
        tip_sag=released.tip[1] - resting.tip[1],
        moments=_moments(limb, setting, batch, resting),
        stable=stable,
        cautions=bend_cautions(limb, setting)
        + rest_cautions(limb, as_set.curvature, resting.curvature, stable),
    )


def hangs_slack(limb: Limb, setting: Setting) -> bool:
    """Tell whether weight and payload are so far above a limb's rigidity that it hangs slack."""
    section = limb_section(limb)
    share = load_share(
        np.array(section.flexural_rigidity_sliding[0]),
        np.array(section.mass_per_length),
        np.array(setting.payload),
        setting,
        limb.length,
    )
    return bool(share > SLACK)


def batch_of_one(limb: Limb, setting: Setting) -> LimbBatch:
    """Return a limb and its setting as one batch."""
    section = limb_section(limb)
    bundle = None
    if limb.wire is not None:
        bundle = wire_bundle(limb.wire).across(1)
    return LimbBatch(
        bundle=bundle,
        rigidity=np.array([section.flexural_rigidity_bare[0]]),
        stiffening=np.ones(1),
        softening=section_softening(section_strips(limb), limb.elastomer),
        relaxation=np.array([limb.elastomer.relaxation_exponent]),
        mass_per_length=np.array([section.mass_per_length]),
        payload=np.array([setting.payload]),
    )


def check_bends(limb: Limb, setting: Setting) -> None:
    """Raise the ValueError if a bend is tighter than the limb's wire or ends beyond the limb."""
    check_kind("limb", limb, Limb, "a Limb")
    check_kind("setting", setting, Setting, "a Setting")
    for bend in setting.bends:
        if bend.end > limb.length * (1 + LEAST_STRETCH):
            rule = f"at most the limb length {limb.length:g} m"
            raise refuse("bend end", rule, float(f"{bend.end:.6g}"))
        check_wire_fits(limb.wire, abs(bend.curvature))


def _shape(settled: PosedBatch, angles: Array) -> Shape:
    arcs = settled.arc_length
    return Shape(
        arc_length=arcs,
        positions=positions_of(angles, arcs),
        angles=angles,
        curvature=np.diff(angles) / np.diff(arcs),
    )


def _moments(limb: Limb, setting: Setting, batch: LimbBatch, resting: Shape) -> Moments:
    bent = np.array([[abs(bend.curvature) for bend in setting.bends]])
    pull = batch.pull(setting.hold_time, 0.0)
    elastomer = pull.held[:, None] * pull.at_ten_seconds(bent)[0]
    wire = 0.0 * bent
    if batch.bundle is not None:
        wire, _ = loading_moment(batch.bundle.across(1), bent)
    x = resting.positions[:, 0]
    weight = float(np.sum(np.diff(resting.arc_length) * (x[1:] + x[:-1]) / 2))
    mass = float(batch.mass_per_length[0])
    return Moments(
        root=GRAVITY * (setting.payload * float(x[-1]) + mass * weight),
        wire=tuple(float(value) for value in wire[0]),
        elastomer=tuple(float(value) for value in elastomer[0]),
    )
