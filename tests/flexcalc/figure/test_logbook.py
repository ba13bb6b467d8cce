"""The logbook of a limb by hand, and what readings over weeks teach."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from data.rules import Refused
from data.store.design import design_text, read_design
from data.store.figures import read_events, read_figure
from flexcalc.build.life import wire_life
from flexcalc.figure.changes import limb_names
from flexcalc.figure.drift import DAY, drift
from flexcalc.figure.keeping import take_design
from flexcalc.figure.logbook import (
    Event,
    event_from,
    events_from,
    limb_log,
    logged_names,
    plain_event,
    standing_events,
    whole_lines,
)
from flexcalc.forms.limb_form import PRESETS, plan_from_form
from flexcalc.pose.pose import hold_poses
from flexcalc.verdict.plan import LimbPlan, plain


def event(kind: str, day: str, **changes: object) -> Event:
    return Event(limb="Leg", kind=kind, day=day, **changes)  # type: ignore[arg-type]


def leg() -> LimbPlan:
    return plan_from_form(PRESETS["Heron leg"], "Leg")


def test_re_poses_are_counted_for_the_wire_that_is_in() -> None:
    life = wire_life(leg().limb.wire, 1 / 0.028)
    events = [
        event("built", "2026-01-01"),
        event("re-posed", "2026-01-05", times=7),
        event("re-posed", "2026-01-06", times=3),
        Event(limb="Neck", kind="re-posed", day="2026-01-06", times=99),
    ]
    log = limb_log("Leg", events, life)
    assert (log.used, log.wires, log.state) == (10, 1, "fine")
    worn = [*events, event("re-posed", "2026-02-01", times=math.ceil(0.85 * life.low) - 10)]
    assert limb_log("Leg", worn, life).state == "soon"
    worn.append(event("re-posed", "2026-02-02", times=math.ceil(0.2 * life.low)))
    due = limb_log("Leg", worn, life)
    assert due.state == "due" and "the wire is due" in due.sentence
    renewed = limb_log("Leg", [*worn, event("new wire", "2026-02-03")], life)
    assert (renewed.used, renewed.wires, renewed.state) == (0, 2, "fine")


def test_angles_are_dated_from_the_last_pose_and_a_new_pose_ends_them() -> None:
    events = [
        event("built", "2026-01-01"),
        event("angle read", "2026-01-02", bend=1, angle=1.2),
        event("angle read", "2026-01-31", bend=1, angle=1.1),
    ]
    assert limb_log("Leg", events, None).angles == ((1, 1.0, 1.2), (1, 30.0, 1.1))
    assert limb_log("Leg", [*events, event("re-posed", "2026-02-01", times=1)], None).angles == ()


def test_a_mistaken_line_is_taken_back_by_another() -> None:
    events = [
        event("re-posed", "2026-01-05", times=700),
        event("taken back", "2026-01-05", line=1),
        event("colour read", "2026-01-07", lab=(60, -15, 27)),
    ]
    assert [line for line, _ in standing_events(events)] == [3]
    log = limb_log("Leg", events, None)
    assert log.used == 0 and log.colours == (("2026-01-07", (60.0, -15.0, 27.0)),)


def test_a_line_that_cannot_be_read_moves_no_other() -> None:
    lost: dict[str, object] = {}
    found = [
        plain_event(event("re-posed", "2026-01-05", times=3)),
        lost,
        plain_event(event("re-posed", "2026-01-06", times=700)),
        plain_event(event("taken back", "2026-01-06", line=3)),
    ]
    lines = events_from(found)
    assert limb_log("Leg", lines, None).used == 3
    again = events_from(whole_lines(lines))
    assert len(again) == 3 and limb_log("Leg", again, None).used == 3
    # what was taken back cannot be read: nothing else is taken back in its place
    gone = events_from([*found[:2], lost, found[3]])
    assert limb_log("Leg", events_from(whole_lines(gone)), None).used == 3


def test_each_of_a_pair_has_a_wire_of_its_own() -> None:
    one, other = logged_names("Leg", twin=True)
    events = [event("re-posed", "2026-01-05", times=3)]
    assert (limb_log(one, events, None).used, limb_log(other, events, None).used) == (3, 0)
    assert logged_names("Leg", twin=False) == ("Leg",)
    assert len(set(logged_names("x" * 80, twin=True))) == 2


def test_events_come_back_equal() -> None:
    for each in (
        event("re-posed", "2026-01-05", times=7, note="at the fair"),
        event("angle read", "2026-01-05", bend=2, angle=1.0),
        event("colour read", "2026-01-05", lab=(60, -15, 27)),
    ):
        assert event_from(plain_event(each)) == each


@pytest.mark.parametrize(
    ("change", "name"),
    [
        ({"day": "5. May"}, "event day"),
        ({"kind": "broken"}, "event kind"),
        ({"kind": "re-posed"}, "event times"),
        ({"kind": "angle read"}, "event bend"),
        ({"lab": (1, 2)}, "event lab"),
        ({"limb": ""}, "limb name"),
        ({"colour": 1}, "event field"),
    ],
)
def test_what_is_no_event_is_refused(change: dict[str, object], name: str) -> None:
    with pytest.raises(Refused) as refused:
        event_from({"limb": "Leg", "kind": "built", "day": "2026-01-01", **change})
    assert refused.value.name == name


def readings(plan: LimbPlan, exponent: float, size: float) -> list[tuple[int, float, float]]:
    """What a limb of another exponent keeps, all of it larger or smaller by a factor."""
    elastomer = replace(plan.limb.elastomer, relaxation_exponent=exponent)
    days = (0.5, 3.0, 10.0, 30.0, 90.0)
    limb = replace(plan.limb, elastomer=elastomer)
    poses = hold_poses(limb, plan.setting, [day * DAY for day in days])
    wanted = abs(plan.setting.bends[0].angle)
    return [(1, d, size * p.loaded_share[0] * wanted) for d, p in zip(days, poses, strict=True)]


def test_the_exponent_moves_toward_that_of_the_limb_and_is_never_less_sure() -> None:
    plan = plan_from_form({**PRESETS["Heron leg"], "wire": "1.6", "payload": "0"}, "Leg")
    middle = plan.limb.elastomer.relaxation_exponent
    for size in (1.0, 0.95):
        more, less = (drift(plan, readings(plan, middle + step, size)) for step in (0.04, -0.04))
        assert more.now[0] > less.now[0] + 1e-5
        assert max(more.now[1], less.now[1]) <= more.before[1] * 1.001
        assert 0 <= more.weight <= 1


def test_readings_as_expected_leave_the_exponent() -> None:
    plan = leg()
    found = drift(plan, readings(plan, plan.limb.elastomer.relaxation_exponent, 1.0))
    assert found.now[0] == pytest.approx(found.before[0], abs=0.2 * found.before[1])
    for _, _, read, before, now in found.rows:
        assert before == pytest.approx(read, rel=0.01) and now == pytest.approx(read, rel=0.02)
    assert 0 < found.set_month < 1 and len(found.year) == 1


@pytest.mark.parametrize(
    "given", [[], [(2, 1.0, 1.0)], [(1, -1.0, 1.0)], [(1, 1.0, 99.0)], [(0, 1.0, 1.0)]]
)
def test_readings_that_cannot_be_are_refused(given: list[tuple[int, float, float]]) -> None:
    with pytest.raises(Refused):
        drift(leg(), given)


def test_a_wire_that_bends_nowhere_wears_nowhere() -> None:
    assert limb_log("Leg", [], None).state == "fine"
    assert np.isfinite(limb_log("Leg", [], None).least)


def test_a_design_is_taken_once_with_its_logbook_beside_it(tmp_path: Path) -> None:
    limbs = [plain(leg()), plain(leg())]
    worn = plain_event(event("re-posed", "2026-01-05", times=7))
    design = read_design(design_text({"name": "Heron", "limbs": limbs, "logbook": [worn]}))
    key = take_design(design, place=tmp_path)
    kept = read_figure(key, place=tmp_path)
    assert limb_names(kept) == ["Leg", "Leg 2"] and kept["logbook"] == []
    assert read_events(key, place=tmp_path) == ([worn], 0)
    assert take_design(design, place=tmp_path) == key
    assert take_design({**design, "logbook": []}, place=tmp_path) != key
    for part in ({"places": [{"at": [0, 9, 0]}] * 2}, {"body": {"mass": -1}}, {"logbook": [{}]}):
        with pytest.raises(Refused):
            take_design({**design, **part}, place=tmp_path)
