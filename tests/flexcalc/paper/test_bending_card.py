"""The bending card: at 1:1 a ruler on it measures what the limb is bent to."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import numpy as np
import pytest

from flexcalc.forms.limb_form import PRESETS, plan_from_form
from flexcalc.joints.aims import in_plane
from flexcalc.limb.inputs import Bend
from flexcalc.paper.answers import verdict_on
from flexcalc.paper.pictures.bending_card import TALL, WIDE, bending_card

PLAIN = {"bent": "round a former"}


def points(svg: str, name: str) -> list[np.ndarray]:
    """The points of every path of a class, in mm on paper."""
    found = re.findall(rf'<path class="{name}" d="M([^"]*)"', svg)
    numbers = [re.findall(r"-?\d+\.\d+", each) for each in found]
    return [np.array(each, float).reshape(-1, 2) for each in numbers]


def lengths(line: np.ndarray) -> float:
    return float(np.hypot(*np.diff(line, axis=0).T).sum())


def test_the_wire_on_the_card_is_as_long_as_the_limb_and_bends_at_its_radius() -> None:
    plan = plan_from_form({**PRESETS["Heron leg"], **PLAIN}, "Leg")
    (bend,) = plan.setting.bends
    card = bending_card(plan, plan.setting)
    assert (card.scale, card.shortened) == (1.0, False)
    (wire,) = points(card.svg, "wire")
    assert lengths(wire) == pytest.approx(plan.limb.length * 1e3, abs=0.3)
    # three points of the arc lie on a circle of the bend's radius
    along = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(wire, axis=0).T))])
    places = bend.start * 1e3 + np.array([0.1, 0.5, 0.9]) * bend.radius * bend.angle * 1e3
    a, b, c = (np.array([np.interp(at, along, side) for side in wire.T]) for at in places)
    ab, bc, ca = (np.hypot(*(p - q)) for p, q in ((a, b), (b, c), (c, a)))
    area = abs((b - a)[0] * (c - a)[1] - (b - a)[1] * (c - a)[0]) / 2
    assert ab * bc * ca / (4 * area) == pytest.approx(bend.radius * 1e3, rel=0.01)


def test_the_square_has_50_mm_and_the_former_its_radius() -> None:
    plan = plan_from_form({**PRESETS["Heron leg"], **PLAIN}, "Leg")
    svg = bending_card(plan, plan.setting).svg
    (square,) = points(svg, "square")
    assert np.ptp(square, axis=0) == pytest.approx([50, 50])
    (rim,) = points(svg, "former")
    # a limb of 9 mm bent at R 30: a former of 25.5 mm radius
    first, middle, last = rim[0], rim[len(rim) // 2], rim[-1]
    chord, rise = np.hypot(*(last - first)), np.hypot(*((first + last) / 2 - middle))
    assert (chord**2 / 4 + rise**2) / (2 * rise) == pytest.approx(25.5, rel=0.01)
    assert "former 51 mm across" in svg


def test_the_twin_has_the_mirror_image() -> None:
    plan = plan_from_form({**PRESETS["Heron leg"], **PLAIN}, "Leg")
    (one,), (twin,) = (
        points(bending_card(plan, plan.setting, mirrored=mirrored).svg, "wire")
        for mirrored in (False, True)
    )
    flipped = (twin - twin[0]) * (-1, 1)
    assert flipped == pytest.approx(one - one[0], abs=0.03)


def test_a_limb_longer_than_the_paper_has_its_straights_broken_and_its_bends_whole() -> None:
    plan = plan_from_form({**PRESETS["Heron leg"], **PLAIN, "length": "500"}, "Leg")
    card = bending_card(plan, plan.setting)
    assert (card.scale, card.shortened) == (1.0, True)
    (body,) = points(card.svg, "limb")
    assert (np.ptp(body, axis=0) <= (WIDE, TALL)).all()
    behind = 500 - (45 + math.radians(70) * 30)
    assert f"{behind:.0f} mm" in card.svg and "longer than drawn" in card.svg


def test_a_bend_larger_than_the_paper_says_that_it_is_not_at_its_size() -> None:
    plan = plan_from_form({**PRESETS["Heron leg"], **PLAIN, "length": "900"}, "Leg")
    wide = replace(plan.setting, bends=(Bend(start=0.0, angle=3.0, radius=0.25),))
    card = bending_card(plan, wide)
    assert card.scale < 1 and "Not at 1:1" in card.svg and "100 %" not in card.svg


@pytest.mark.parametrize("name", PRESETS)
def test_each_press_by_hand_has_a_thumb_and_two_fingers(name: str) -> None:
    plan = plan_from_form({**PRESETS[name], "bent": "by hand"}, name)
    card = bending_card(plan, verdict_on(plan).made)
    presses = plan.setting.places * len(plan.setting.bends)
    assert card.svg.count('class="thumb"') == presses
    assert card.svg.count('class="finger"') == 2 * presses
    assert "former" not in card.svg


def test_the_card_says_the_cut_with_both_ends() -> None:
    plan = plan_from_form({}, "Neck")
    svg = bending_card(plan, plan.setting).svg
    assert "Cut the wire 187 mm long: 160 mm in the limb" in svg and "14 mm at each end" in svg


def test_a_bend_that_swings_says_how_the_limb_is_turned() -> None:
    """Seen from the clamp, a bend up that swings by 90 degrees to the left has its inside left."""
    plan = plan_from_form({"swing1": "0", "swing2": "90", "direction": "90"}, "Neck")
    card = bending_card(plan, plan.setting)
    assert "swung 90° to the left" in card.svg and "several planes" in card.svg
    up, aside = (each.mean(axis=0) for each in points(card.svg, "turn"))
    (dial_up, dial_aside) = dials(card.svg)
    assert (up - dial_up)[1] < -4 and abs((up - dial_up)[0]) < 0.01
    # the second bend is one down, swung to the left: its inside is on the right
    assert (aside - dial_aside)[0] > 4 and abs((aside - dial_aside)[1]) < 0.01
    twin = bending_card(plan, plan.setting, mirrored=True)
    assert "swung 90° to the right" in twin.svg
    (_, other), (_, dial) = points(twin.svg, "turn"), dials(twin.svg)
    assert (other.mean(axis=0) - dial)[0] < -4


def test_a_bend_that_swings_by_half_a_turn_is_drawn_the_other_way() -> None:
    plan = plan_from_form({"swing2": "180"}, "Neck")
    down = replace(plan.setting, bends=tuple(in_plane(bend) for bend in plan.setting.bends))
    assert bending_card(plan, plan.setting).svg == bending_card(plan, down).svg
    assert "swung" not in bending_card(plan, plan.setting).svg


def dials(svg: str) -> list[np.ndarray]:
    group = svg[svg.index('class="turns"') :]
    found = re.findall(r'<circle cx="([-.0-9]+)" cy="([-.0-9]+)" r="4', group)
    return [np.array(each, float) for each in found]
