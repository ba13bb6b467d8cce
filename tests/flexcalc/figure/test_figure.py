"""Figures by hand: what they take, where they are, and whether they stand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from data.rules import Refused
from flexcalc.build.wire_cut import cut_length
from flexcalc.figure.figure import (
    Body,
    Figure,
    FigureLimb,
    Place,
    body_from,
    figure_from,
    on_figure,
    place_from,
    plain_body,
    plain_place,
)
from flexcalc.figure.standing import standing
from flexcalc.figure.totals import totals
from flexcalc.forms.limb_form import PRESETS, plan_from_form
from flexcalc.section.section import limb_mass, surface_area
from flexcalc.verdict.plan import LimbPlan, plain

LEG = np.array([[0.0, 0.0], [0.0, -0.05], [0.0, -0.11]])
"""A straight leg that hangs from its hip. [m]"""


def leg(name: str = "Leg") -> LimbPlan:
    return plan_from_form(PRESETS["Heron leg"], name)


def on_legs(at: tuple[float, float, float], mass: float = 0.1) -> Figure:
    """A body over a pair of legs 40 mm apart, feet of 30 by 10 mm."""
    place = Place(at=(0.0, 0.11, 0.02), twin=True, foot=(0.03, 0.01))
    limbs = (FigureLimb(plan=leg(), place=place),)
    return Figure(name="Heron", limbs=limbs, body=Body(mass=mass, at=at))


def test_a_pair_takes_twice_of_everything() -> None:
    plan = leg()
    assert plan.limb.wire is not None
    one = totals(Figure(name="f", limbs=(FigureLimb(plan=plan, place=Place(magnets=1)),)))
    two = totals(Figure(name="f", limbs=(FigureLimb(plan=plan, place=Place(twin=True)),)))
    assert two.mass == pytest.approx(2 * limb_mass(plan.limb))
    assert two.area == pytest.approx(2 * surface_area(plan.limb))
    assert two.filaments[0][1] == pytest.approx(2 * one.filaments[0][1])
    assert two.wires[0].pieces == pytest.approx([cut_length(plan.limb)] * 2)
    assert one.magnets == ((0.005, 0.002, 1),) and two.magnets == ()


def test_the_masses_of_filament_and_wire_are_those_of_the_limb() -> None:
    plan = leg()
    wire = plan.limb.wire
    assert wire is not None
    needed = totals(Figure(name="f", limbs=(FigureLimb(plan=plan),)))
    drawn = wire.metal.density * math.pi / 4 * wire.diameter**2 * plan.limb.length
    assert needed.filaments[0][1] / 1.1 + drawn == pytest.approx(limb_mass(plan.limb))


def test_each_strand_is_cut_and_kinds_of_wire_stand_apart() -> None:
    plan = leg()
    assert plan.limb.wire is not None
    twisted = replace(plan.limb.wire, diameter=0.001, strands=3)
    other = replace(plan, name="Other", limb=replace(plan.limb, wire=twisted))
    made = totals(Figure(name="f", limbs=(FigureLimb(plan=plan), FigureLimb(plan=other))))
    assert [(wire.diameter, len(wire.pieces)) for wire in made.wires] == [(0.001, 3), (0.0025, 1)]


def test_a_wire_is_cut_for_the_channel_and_two_bent_ends() -> None:
    """By hand: a quarter turn of the middle of a 2.5 mm wire about 2.5 mm inside, and 6.25 mm."""
    plan = leg()
    ends = 2 * (math.pi / 2 * (2.5 + 1.25) + 6.25)
    assert cut_length(plan.limb) * 1e3 == pytest.approx(plan.limb.length * 1e3 + ends)
    assert cut_length(replace(plan.limb, wire=None)) == 0.0


def test_a_limb_is_turned_and_mirrored_about_the_middle() -> None:
    line = np.array([[0.0, 0.0], [0.1, 0.0], [0.1, 0.1]])
    place = Place(at=(0.0, 0.2, 0.03), facing=math.pi / 2)
    assert on_figure(line, place) == pytest.approx(
        np.array([[0, 0.2, 0.03], [0, 0.2, 0.13], [0, 0.3, 0.13]]), abs=1e-12
    )
    assert on_figure(line, place, twin=True)[:, 2] == pytest.approx([-0.03, -0.13, -0.13])


def test_a_body_over_its_feet_stands_and_beside_them_falls() -> None:
    over = standing(on_legs((0.0, 0.15, 0.0)), [LEG])
    assert over.state == "holds" and over.ground == pytest.approx(0.0)
    beside = standing(on_legs((0.05, 0.15, 0.0)), [LEG])
    assert beside.state == "fails" and beside.margin < 0
    assert beside.sentence.startswith("It falls over")
    turned = standing(on_legs((0.0, 0.15, 0.0), mass=0.0), [LEG])
    assert [caution.key for caution in turned.cautions] == ["no body"]


def test_the_tilt_at_which_it_falls_by_hand() -> None:
    """A body so heavy that it alone counts: 10 mm forward of 15 mm, 200 mm up."""
    found = standing(on_legs((0.01, 0.2, 0.0), mass=50.0), [LEG])
    assert found.margin == pytest.approx(0.005, abs=2e-5)
    assert found.tilt == pytest.approx(math.atan2(0.005, 0.2), rel=5e-3)
    assert found.state == "close"


def test_the_centre_of_mass_by_hand() -> None:
    """A pair of legs of mass m each at half height and a body: their weighted mean."""
    figure = on_legs((0.0, 0.15, 0.0), mass=0.02)
    mass = limb_mass(figure.limbs[0].plan.limb)
    found = standing(figure, [LEG])
    height = (0.02 * 0.15 + 2 * mass * 0.055) / (0.02 + 2 * mass)
    assert found.centre == pytest.approx((0.0, height, 0.0), abs=1e-9)
    assert found.mass == pytest.approx(0.02 + 2 * mass)


def test_feet_that_are_not_level_are_said() -> None:
    figure = on_legs((0.0, 0.15, 0.0))
    short = FigureLimb(plan=leg("Short"), place=Place(at=(0.05, 0.13, 0.0), foot=(0.01, 0.01)))
    found = standing(replace(figure, limbs=(*figure.limbs, short)), [LEG, LEG])
    assert "feet not level" in [caution.key for caution in found.cautions]


def test_a_limb_that_points_up_is_no_leg() -> None:
    found = standing(on_legs((0.0, 0.15, 0.0)), [-LEG])
    assert found.state == "fails" and found.tilt < 0
    assert "below its feet" in found.sentence and "-" not in found.sentence


def test_without_a_foot_nothing_is_said_of_standing() -> None:
    found = standing(Figure(name="f", limbs=(FigureLimb(plan=leg()),)), [LEG])
    assert (found.state, len(found.base)) == ("", 0)


def test_places_and_bodies_come_back_equal() -> None:
    place = Place(at=(0.01, 0.1, -0.02), facing=1.0, twin=True, foot=(0.03, 0.01), magnets=2)
    assert place_from(plain_place(place)) == place
    assert body_from(plain_body(Body(mass=0.2, at=(0, 0.1, 0)))) == Body(mass=0.2, at=(0, 0.1, 0))
    places = [plain_place(place)]
    design = {"name": "Heron", "limbs": [plain(leg())], "places": places, "body": None}
    assert figure_from(design).limbs[0].place == place
    assert figure_from({**design, "places": []}).limbs[0].place == Place()


@pytest.mark.parametrize(
    ("change", "name"),
    [
        ({"at": (0, 0)}, "place"),
        ({"at": (0, 9, 0)}, "place"),
        ({"facing": 7}, "facing"),
        ({"twin": 1}, "twin"),
        ({"foot": (0.01, 0)}, "foot"),
        ({"magnets": 21}, "magnets"),
        ({"magnet": (0, 0.1)}, "magnet"),
    ],
)
def test_a_place_that_cannot_be_is_refused(change: dict[str, object], name: str) -> None:
    with pytest.raises(Refused) as refused:
        Place(**change)  # type: ignore[arg-type]
    assert refused.value.name == name
