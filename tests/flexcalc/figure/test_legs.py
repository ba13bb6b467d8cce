"""Legs under their figure: columns by their closed forms, and what must hold of any leg.

The critical load of a column clamped at its foot, EI (pi / 2 L)^2, and of one that bears its load
on a rigid piece of length h, EI (x / L)^2 with x tan x = L / h, are those of any text on elastic
stability (from memory; the second follows from the first one's deflection by hand: the rigid piece
goes on along the tangent at the upper end).
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq

import flexcalc as f
from data.rules import Refused
from flexcalc.figure.figure import Body, Figure, FigureLimb, Place
from flexcalc.figure.legs import Legs, legs
from flexcalc.figure.standing import standing
from flexcalc.forms.limb_form import PRESETS, plan_from_form
from flexcalc.paper.pictures.whole import legs_of, limb_line
from flexcalc.section.section import limb_section
from flexcalc.verdict.plan import LimbPlan

TALL = 0.08


def column(**changes: object) -> LimbPlan:
    """A solid leg that hangs straight down, whose modulus is known and which does not relax."""
    elastomer = replace(
        f.load_elastomer("TPU 85A"),
        relaxation_exponent=0.0, relaxation_spread=0.0, modulus_factor=1.0,
    )  # fmt: skip
    limb = f.Limb(elastomer=elastomer, outline=f.Round(diameter=0.012), length=TALL, **changes)
    setting = f.Setting(bends=(), clamp_angle=0.0, temperature_spread=0.0)
    return LimbPlan(name="Leg", limb=limb, setting=setting, channel="typed")


def borne(plan: LimbPlan, above: float, *, twin: bool = False) -> Legs:
    """What legs bear of a figure whose centre of mass is this far above their clamps. [m]"""
    place = Place(at=(0.0, TALL, 0.02 if twin else 0.0), foot=(0.05, 0.05), twin=twin)
    limbs = (FigureLimb(plan=plan, place=place),)
    figure = Figure(name="x", limbs=limbs, body=Body(mass=0.3, at=(0.0, TALL, 0.0)))
    line = np.array([[0.0, 0.0], [0.0, -TALL]])
    stands = replace(standing(figure, [line]), centre=(0.0, TALL + above, 0.0))
    return legs(figure, [line], stands)


@pytest.mark.parametrize("above", [0.0, 0.02, 0.04, 0.08])
def test_a_column_bears_its_critical_load(above: float) -> None:
    plan = column()
    rigidity = limb_section(plan.limb).flexural_rigidity_bare[0]
    turn = math.pi / 2
    if above:
        turn = brentq(lambda x: x * math.tan(x) - TALL / above, 1e-6, math.pi / 2 - 1e-9)
    critical = rigidity * (turn / TALL) ** 2 / 9.80665
    # loads are told apart by 4 %, and the rigid piece gives a little
    assert borne(plan, above).held.median == pytest.approx(critical, rel=0.06)


def test_a_pair_bears_twice_as_much() -> None:
    one, two = borne(column(), 0.02), borne(column(), 0.02, twin=True)
    assert two.held.median == pytest.approx(2 * one.held.median, rel=0.05)
    assert two.shares[0][1] == pytest.approx(two.mass / 2)


def heron(mass: float, **changes: str) -> Figure:
    """A body over the feet of a pair of bent heron legs."""
    plan = plan_from_form({**PRESETS["Heron leg"], **changes}, "Leg")
    place = Place(at=(0.0, 0.11, 0.02), twin=True, foot=(0.04, 0.03))
    leg = FigureLimb(plan=plan, place=place)
    at = (float(np.asarray(limb_line(leg))[-1, 0]), 0.13, 0.0)
    return Figure(name="Heron", limbs=(leg,), body=Body(mass=mass, at=at))


def test_what_bent_legs_bear_hangs_on_their_wire_and_not_on_the_figure() -> None:
    light, heavy, thin = legs_of(heron(0.1)), legs_of(heron(0.4)), legs_of(heron(0.1, wire="1"))
    assert light.held.median == pytest.approx(heavy.held.median, rel=0.15)
    assert thin.held.high < light.held.low
    assert (light.state, thin.state) == ("holds", "fails")
    assert light.held.low <= light.held.median <= light.held.high
    assert "give way" in thin.sentence and "and it weighs 110 g" in thin.sentence


def test_four_feet_share_the_weight_as_the_lever_says() -> None:
    """A body 20 mm ahead of the middle of feet 100 mm apart: 70 % on those in front."""
    plan = column()
    limbs = tuple(
        FigureLimb(plan=replace(plan, name=name),
                   place=Place(at=(x, TALL, 0.03), foot=(0.02, 0.02), twin=True))
        for name, x in (("Fore", 0.05), ("Hind", -0.05))
    )  # fmt: skip
    figure = Figure(name="x", limbs=limbs, body=Body(mass=50.0, at=(0.02, TALL, 0.0)))
    line = np.array([[0.0, 0.0], [0.0, -TALL]])
    found = legs(figure, [line, line], standing(figure, [line, line]))
    shares = {name: share / found.mass for name, share in found.shares}
    assert shares == pytest.approx({"Fore": 0.35, "Hind": 0.15}, abs=2e-3)


def test_what_is_not_worked_out_is_said() -> None:
    figure = heron(0.1, swing1="90")
    found = legs_of(figure)
    assert (found.state, found.sentence) == ("", "")
    assert "leaves it" in found.cautions[0].text
    falls = replace(figure, body=replace(figure.body, at=(1.0, 0.1, 0.0)))
    assert (legs_of(falls).state, legs_of(falls).cautions) == ("", ())
    with pytest.raises(Refused):
        legs(figure, [], standing(figure, [limb_line(figure.limbs[0])]))
