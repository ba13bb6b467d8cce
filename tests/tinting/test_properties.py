"""Any float, text, type, size and order into every public function and input class of tinting.

What may come back is told in hostile.py, what is handed in in cases_tint.py. A public function
that is neither called here nor stands among the inner ones below fails.
"""

from __future__ import annotations

import dataclasses
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

import tinting
from data.page.form import RefusedFieldsError
from data.store.folder import StoreError
from tests.hostile import Call, Strategy, handed_over, judge, public_calls, quiet, run
from tests.hostile import case as case_of
from tests.strategies_files import mutated
from tests.sweep import sweep
from tests.tinting.cases import ARGUMENTS, SPECIAL, WHERE
from tests.tinting.strategies import fitted, records
from tinting.forms.choices import Choices
from tinting.log import swatches as log
from tinting.log.maintenance import merge_swatches, open_log
from tinting.log.record import SwatchRecord, new_id
from tinting.mix.plan import TintPlan

pytestmark = pytest.mark.usefixtures("own_place")

WORK = "works on the arrays of "
INNER_ROOMS = {
    "learn.least_squares": WORK + "fit_dyes and smoothest_reflectance",
    **dict.fromkeys(["learn.patches", "learn.prior", "learn.posterior", "learn.doubts"],
                    WORK + "fit_dyes"),
    "skin.layer": WORK + "dyed_reflectance",
    **dict.fromkeys(
        [f"recipe.{part}" for part in ("bound", "exact", "live", "model", "reach", "result")],
        WORK + "find_recipes",
    ),
    **dict.fromkeys(["photo.camera", "photo.flatfield"], WORK + "measure_swatch"),
    "log.pictures": "files named by the log, whose folder and names the log has checked",
}  # fmt: skip
"""Rooms whose public names get what another room has checked already."""
INNER = {
    "forms.tint.scaled": "reads a field of plan_from_form",
    **dict.fromkeys(
        ("learn.band.predictions", "learn.band.prediction_covariance", "learn.band.band_radius"),
        WORK + "predict_band",
    ),
    **dict.fromkeys(("log.table.plain_cell", "log.table.guarded", "log.table.unguarded"),
                    WORK + "write_csv"),
    "learn.fit.gather_patches": WORK + "fit_dyes",
    "colour.grid.real_numbers": "looks at the types of arrays",
    "colour.screen.linear_rgb": WORK + "xyz_from_srgb",
    "colour.spectrum.smoothest_within": WORK + "smoothest_reflectance",
    "colour.grid.check_shapes": "looks at the shapes of arrays",
    "learn.learned.row_words": "says a row that `learn` has pooled",
    **dict.fromkeys(("photo.regions.chart_patches", "photo.regions.around"),
                    WORK + "measure_swatch"),
    "skin.dyed.skin_reflectance": WORK + "dyed_reflectance",
    "colour.spectrum.nearest_in_slope": WORK + "smoothest_reflectance",
    "log.maintenance.merge_with_plain": "the inside of merge_swatches",
}  # fmt: skip
NAMED = frozenset({"name"})
KEPT = {
    **dict.fromkeys(
        ("colour.grid.check_spectrum", "colour.grid.check_lab", "forms.tint.colour_from_text",
         "photo.preview.region_from_text", "photo.preview.corners_from_text",
         "photo.regions.region_patch"),
        NAMED,
    ),
    "colour.grid.check_array": {"name", "width", "least", "most"},
}  # fmt: skip
"""Arguments that a room of our own writes down: what a thing is called, and its bounds."""
REFUSED = (RefusedFieldsError,)
ALSO: dict[str, tuple[type[Exception], ...]] = {
    **dict.fromkeys(("forms.tint", "forms.jar", "forms.swatch", "forms.choices"), REFUSED),
    **dict.fromkeys(
        ("log.swatches", "paper.log_sheet", "log.transfer", "log.maintenance"), (StoreError,)
    ),
}
EXAMPLES = 25
HEAVY = {"recipe.search.find_recipes": 15}


def seen(plan: TintPlan, light: str, observer: int) -> tuple[Any, ...]:
    result = plan.result()
    return result.lab(light, observer), result.spread(light, observer), result.srgb, result.hex


def planned(choices: Choices, form: dict[str, str]) -> tuple[Any, ...]:
    plan = choices.plan(choices.known(form))
    return plan, choices.band(plan), choices.base_names, choices.dye_names


def dyes_of(choices: Choices, text: str) -> tuple[Any, ...]:
    return choices.all_dyes(text), choices.learned.dyes(text)


METHODS: dict[str, Callable[..., Any]] = {
    "skin.dyed.Tint": seen, "forms.choices.Choices.plan": planned,
    "forms.choices.Choices.all_dyes": dyes_of,
    "learn.fit.DyeFit.dyes_on": fitted(3).dyes_on,
}  # fmt: skip
"""What results can be asked for, here by a function or by the method of one result."""
FOUND = public_calls(tinting) | METHODS
HANDED = handed_over(tinting) | {
    "skin.dyed.Tint": {"plan"}, "forms.choices.Choices.plan": {"choices"},
    "forms.choices.Choices.all_dyes": {"choices"},
    "learn.fit.DyeFit.dyes_on": set(),
}  # fmt: skip


def home(name: str) -> str:
    """The module below tinting that a call stands in."""
    return ".".join(name.split(".")[:2])


def is_inner(name: str) -> bool:
    return name in INNER or home(name) in INNER_ROOMS


def called() -> list[str]:
    return [name for name in sorted(FOUND) if not is_inner(name)]


def kept_in(name: str) -> set[str]:
    return HANDED[name] | KEPT.get(name, set())


def case(name: str) -> Strategy:
    room = home(name)
    special = (WHERE if room in ALSO else {}) | SPECIAL.get(name, {})
    return case_of(FOUND[name], ARGUMENTS, special, kept_in(name))


@pytest.mark.parametrize("name", called())
def test_finite_result_or_refusal(name: str) -> None:
    run(case(name), HEAVY.get(name, EXAMPLES), ALSO.get(home(name), ()))


@pytest.mark.parametrize("name", called())
def test_every_wrong_thing_is_refused_or_answered(name: str) -> None:
    sweep(case(name), kept_in(name), ALSO.get(home(name), ()))


def test_every_exception_is_still_there() -> None:
    rooms = {home(name) for name in FOUND}
    assert set(INNER) | set(SPECIAL) | set(KEPT) <= set(FOUND)
    assert set(INNER_ROOMS) <= rooms


CHANGES = st.lists(
    st.tuples(st.sampled_from(["add", "edit", "remove", "copy", "undo", "redo"]), records()),
    max_size=8,
)


@quiet(40)
@given(CHANGES)
def test_changes_of_the_log_in_any_order_can_be_undone(
    changes: list[tuple[str, SwatchRecord]],
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.swatches.sqlite3"
        states: list[dict[str, SwatchRecord]] = [{}]
        place = 0
        for kind, record in changes:
            rows = dict(states[place])
            if kind in ("undo", "redo"):
                step = log.undo(path=path) if kind == "undo" else log.redo(path=path)
                to = place - 1 if kind == "undo" else place + 1
                assert step.done == (0 <= to < len(states))
                place = to if step.done else place
            else:
                changed(kind, rows, record, path)
                if rows != states[place]:
                    states, place = [*states[: place + 1], rows], place + 1
            kept = log.list_swatches(path=path).records
            assert {row.id: row for row in kept} == states[place]


def changed(kind: str, rows: dict[str, SwatchRecord], record: SwatchRecord, path: Path) -> None:
    """Change the log and, likewise, ``rows``; one that is not there is refused."""
    there = next(iter(rows), record.id)
    known = there in rows
    if kind == "add" and record.id not in rows:
        rows[record.id] = log.add_swatch(record, path=path)
    elif not known:
        with pytest.raises(ValueError, match="swatch id must be that of a row in the log"):
            if kind == "edit":
                log.edit_swatch(record, path=path)
            else:
                log.remove_swatch(there, path=path)
    elif kind == "edit":
        rows[there] = log.edit_swatch(dataclasses.replace(record, id=there), path=path)
    elif kind == "remove":
        assert log.remove_swatch(there, path=path) == rows.pop(there)
    else:
        copy = log.copy_swatch(there, path=path)
        rows[copy.id] = copy


def test_a_damaged_log_is_set_aside_and_the_next_row_is_kept(tmp_path: Path) -> None:
    row = SwatchRecord(base_name="b", base_lab=(88, 0, 6), lab=(60, 0, 20), shares={}, coats=0)
    place = tmp_path / "log.swatches.sqlite3"
    for _ in range(3):
        kept = log.add_swatch(dataclasses.replace(row, id=new_id()), path=place)
        log.copy_swatch(kept.id, path=place)
    whole = place.read_bytes()

    @quiet(60)
    @given(mutated(st.just(whole)))
    def every(content: bytes) -> None:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "log.swatches.sqlite3"
            path.write_bytes(content)
            found = judge(Call(open_log, {"path": path}), (StoreError,))
            if isinstance(found, Exception):
                return
            if found.set_aside:
                assert path.with_name(found.set_aside).read_bytes() == content
                judge(Call(merge_swatches, {"records": found.saved, "path": path}))
            log.add_swatch(row, path=path)
            assert row in log.list_swatches(path=path).records

    every()
