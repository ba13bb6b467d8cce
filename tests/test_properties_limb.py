"""Any float, text, type, size and order into every public function and input class of flexcalc.

What may come back is told in hostile.py, what is handed in in cases_limb.py. A public function
that is neither called here nor stands among the inner ones below fails.
"""

from __future__ import annotations

import inspect

import pytest

import flexcalc
from data.page.form import RefusedFieldsError
from data.store.folder import StoreError
from tests.arguments_limb import ARGUMENTS
from tests.cases_limb import SPECIAL
from tests.hostile import Strategy, handed_over, public_calls, run
from tests.hostile import case as case_of

STATE = "works on the arrays of a pose under way, made and checked by "
POSE = STATE + "hold_pose, retained_bend and over_bend"
ROD = STATE + "rest_shape"
DRAWN = STATE + "sample_pose and updated"
PAPER = "strokes on the paper of limb_drawing and section_drawing"
WIRES = STATE + "compare_wires"
INNER_ROOMS = {
    "branch": POSE, "bundle": POSE, "chain": POSE, "fibre": POSE,
    "release": POSE, "stations": POSE, "trial": POSE,
    "mesh": ROD, "romberg": ROD, "roots": ROD, "tridiagonal": ROD, "unit": ROD,
    "drivers": DRAWN, "prior": DRAWN, "update": DRAWN,
    "compare_batch": WIRES, "compare_moments": WIRES, "compare_row": WIRES,
    "compare_screen": WIRES, "compare_sections": WIRES,
    "checks": "the questions of assess",
    "moments": "shapely areas of limb_section",
    "profile": "cross-sections of the solids' library, cut and joined by solids and corner",
    "remarks": "the cautions of hold_pose",
    "report_make": "pieces of limb_parts",
    "sketch": PAPER, "svg": PAPER,
}  # fmt: skip
"""Rooms whose public names get what another room has checked already."""
INNER = {
    "allowance.chain_rows": "its arguments are checked ones, see size_channel",
    **dict.fromkeys(
        ("form.length_or_zero", "form.signed_length", "form.wall", "form.found_by"),
        "reads a field of plan_from_form",
    ),
    "column.share_of_buckling_load": STATE + "rest_shape",
    "drawing.limb_outline": "a part of limb_drawing",
    "evidence.chain_evidence": STATE + "updated",
    "fit.check_fit": "the last check of a Limb",
    "pose.one_trial": STATE + "hold_pose",
    "report.figure_parts": "puts parts together",
    **dict.fromkeys(
        ("printer.hole_constant", "readings.bench_constant", "seat.corner_constant",
         "readings.bench_model_deviation"),
        "looks up a row by a name of our own; a missing one is a KeyError, as for every table",
    ),
}  # fmt: skip
REFUSED = (RefusedFieldsError,)
ALSO: dict[str, tuple[type[Exception], ...]] = {
    **dict.fromkeys(("form", "benchform", "ownform"), REFUSED),
    "own": (StoreError,),
}
EXAMPLES = 60
HEAVY = {
    "plan_answers.compared": 8, "plan_answers.verdict_on": 20, "solids.channel_strip": 20,
    "plan_answers.likely_poses": 10, "plan_answers.side_view": 10,
    "compare.compare_wires": 20, "recheck.pose_with_corner": 15, "report.limb_lines": 8,
    "report.limb_parts": 20, "report.substitutes_for": 8, "sample.sample_pose": 20,
}  # fmt: skip
"""Whole answers, which take up to a second each."""
LEAST = 6000
"""Fewest examples over all functions."""
FOUND = public_calls(flexcalc)
HANDED = handed_over(flexcalc)


def is_inner(name: str) -> bool:
    return name in INNER or name.split(".")[0] in INNER_ROOMS


def names_to_test() -> list[str]:
    return [name for name in sorted(FOUND) if not is_inner(name)]


def examples_of(name: str) -> int:
    if not inspect.signature(FOUND[name]).parameters:
        return 1
    return HEAVY.get(name, EXAMPLES)


def case(name: str) -> Strategy:
    return case_of(FOUND[name], ARGUMENTS, SPECIAL.get(name, {}), HANDED[name])


@pytest.mark.usefixtures("own_place")
@pytest.mark.parametrize("name", names_to_test())
def test_finite_result_or_refusal(name: str) -> None:
    run(case(name), examples_of(name), ALSO.get(name.split(".")[0], ()))


def test_there_are_enough_examples() -> None:
    assert sum(examples_of(name) for name in names_to_test()) >= LEAST


def test_every_exception_is_still_there() -> None:
    rooms = {name.split(".")[0] for name in FOUND}
    assert set(INNER) <= set(FOUND)
    assert set(INNER_ROOMS) <= rooms
    assert set(SPECIAL) | set(HEAVY) <= set(FOUND)
