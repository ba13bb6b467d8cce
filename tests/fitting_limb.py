"""Arguments that fit each other, for single functions of flexcalc: forms, readings, sizes."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from hypothesis import strategies as st

from flexcalc import form
from flexcalc.corner import corner_piece
from flexcalc.inputs import Bend, Limb, Setting
from flexcalc.overbend import over_bend
from flexcalc.own import FORMAT, VERSION
from flexcalc.plan import LimbPlan, plain
from flexcalc.plan_answers import verdict_on
from flexcalc.readings import Droop, KinkTest, MandrelBend, PinGauge, PoseTest
from tests.arguments_limb import SIDES
from tests.hostile import Strategy
from tests.strategies_limb import (
    NAMES,
    elastomers,
    everyday_limbs,
    everyday_settings,
    metals,
    outlines,
    printers,
    sizes,
)


def everyday_plans() -> Strategy:
    """Plans of the everyday limbs in every pose and under every load, for answers that pose
    hundreds of wires."""
    return everyday_settings().map(lambda both: LimbPlan(name="n", limb=both[0], setting=both[1]))


def plans_and_verdicts() -> Strategy:
    return everyday_plans().map(lambda plan: (plan, verdict_on(plan)))


def typed(defaults: Mapping[str, str]) -> Strategy:
    """Forms: the defaults with every name given, some fields with other texts, mostly nonsense."""
    named = {key: "mine" for key in defaults if key.endswith("_name")}
    texts = st.one_of(
        st.sampled_from(["", "0", "-1", "1e400", "nan", "12", "1,5", "2 mm", "1/16 in", "AWG 14",
                         "14 gauge", "1 1/2 in", "50 %", "90°", "upright", "round", "85A", "\0"]),
        st.text(max_size=12),
        st.floats().map(str),
    )  # fmt: skip
    others = st.dictionaries(st.sampled_from(sorted(defaults)), texts, max_size=2)
    return others.map(lambda fields: named | fields)


def readings() -> dict[type, Strategy]:
    droop = st.builds(
        Droop, length=sizes(0.02, 0.3), drop=sizes(1e-4, 0.018), outline=outlines(1e-3, 0.02)
    )
    mandrel = st.builds(
        MandrelBend, wire_diameter=sizes(5e-4, 4e-3), mandrel_diameter=sizes(0.01, 0.1),
        angle_before=sizes(1.0, 20.0), angle_after=sizes(0.1, 0.99),
    )  # fmt: skip
    gauge = st.builds(
        PinGauge, drawn_diameters=st.just((2e-3, 3e-3, 5e-3)), orientation=SIDES,
        pins=st.tuples(st.floats(1e-3, 2.4e-3), st.floats(2e-3, 3.4e-3), st.floats(4e-3, 5e-3)),
    )  # fmt: skip
    kinked = st.builds(
        KinkTest, limb=everyday_limbs(), held_diameter=sizes(0.02, 0.5),
        kinked_diameter=sizes(1e-3, 0.019),
    )  # fmt: skip
    return {
        Droop: droop,
        MandrelBend: mandrel,
        PinGauge: gauge,
        PoseTest: pose_tests(),
        KinkTest: kinked,
    }


@st.composite
def pose_tests(draw: Any) -> PoseTest:
    limb = draw(everyday_limbs())
    angle = draw(sizes(0.1, 3.0))
    radius = max(limb.length / angle, 2 * limb.wire.diameter)
    angle = min(angle, limb.length / radius)
    kept = angle * draw(st.floats(0.0, 1.0))
    return PoseTest(limb=limb, radius=radius, angle_set=angle, angle_kept=kept)


@st.composite
def corners(draw: Any) -> tuple[Limb, Setting, int, Any]:
    """A limb with one bend that a corner piece holds, and where it could stand."""
    limb = draw(everyday_limbs())
    radius = min(max(limb.wire.diameter, 5e-3), limb.length / 4)
    bend = Bend(start=limb.length / 3, angle=draw(st.floats(0.3, 1.2)), radius=radius)
    try:
        piece = corner_piece(limb, bend)
    except ValueError:
        return draw(corners())
    return limb, Setting(bends=(bend,), clamp_angle=1.0), 0, piece


def bend_and_more() -> Strategy:
    limb = form.plan_from_form({}).limb
    return st.floats(5.0, 40.0).map(
        lambda k: (Bend(start=0.0, angle=0.5, radius=1 / k), over_bend(limb, k))
    )


def things_and_readings() -> Strategy:
    """Something to learn about and what was read of it."""
    found = readings()
    return st.one_of(
        st.tuples(elastomers(), st.lists(found[Droop], max_size=3)),
        st.tuples(metals(), st.lists(found[MandrelBend], max_size=3)),
        st.tuples(printers(), st.lists(found[PinGauge], max_size=3)),
        st.tuples(printers(), st.lists(found[KinkTest], max_size=1)),
        st.tuples(everyday_limbs(), st.lists(found[Droop], max_size=2)),
    )


READINGS = readings()


def own_texts() -> Strategy:
    """Files of own materials, some damaged in one place."""
    lists = st.lists(metals().map(plain), max_size=2)
    whole = st.fixed_dictionaries(
        {"format": st.just(FORMAT), "version": st.just(VERSION), "metal": lists},
        optional={"elastomer": st.lists(elastomers().map(plain), max_size=2), "more": NAMES},
    )
    return whole.map(json.dumps)


@st.composite
def strengths(draw: Any) -> tuple[float, float, float | None]:
    """A modulus, a strength coefficient and a yield stress that a metal may have together."""
    modulus = draw(sizes(1e8, 1e12))
    strength = sizes(1e5, min(1e10, 0.2 * modulus))
    return modulus, draw(strength), draw(st.one_of(st.none(), strength))


@st.composite
def nested(draw: Any, least: float, shares: tuple[float, ...]) -> tuple[float, ...]:
    """An outer size and the inner ones, each at most its share of the one before."""
    found = [draw(sizes(least, 0.05))]
    for share in shares:
        found.append(found[-1] * share * draw(sizes(0.05, 1.0)))
    return tuple(found)


def limb_and_bend() -> Strategy:
    return corners().map(lambda found: (found[0], found[1].bends[0]))


def magnet_partners() -> Strategy:
    """Steel has no sizes of its own, another magnet may have them."""
    other = st.one_of(st.none(), sizes(1e-4, 0.2))
    remanence = st.one_of(st.none(), sizes(0.01, 2.0))
    steel = st.just(("steel", None, None, None))
    return st.one_of(steel, st.tuples(st.just("disc"), other, other, remanence))
