"""The doors of tinting: any admitted input gives a finite result, anything else is refused."""

from __future__ import annotations

import dataclasses
import sys
from typing import Any

import pytest
from hypothesis import strategies as st

import tinting
from tests.doors import (
    Given,
    Strategy,
    calls,
    check_admitted,
    check_same_answer,
    check_spoilt,
    door,
    exported,
)
from tests.strategies import NAMES, forms, loose_json, mutated, or_none, sizes, spoilt
from tests.tinting.strategies import (
    COATS,
    KINDS,
    LIGHTS,
    SHARES,
    bases,
    bottle_files,
    dye_lists,
    dye_shares,
    fits,
    hands,
    labs,
    mixes,
    pictures,
    plans,
    record_lists,
    records,
    spectra,
    strips,
    swatches,
    tables,
    zips,
)
from tinting import Swatch, demo_base, demo_dyes
from tinting.log.record import GEOMETRIES, READING_ERROR, record_fields
from tinting.mix.plan import plain
from tinting.photo.picture import read_picture
from tinting.skin.dyed import tint
from tinting.skin.inputs import BACKINGS

pytestmark = pytest.mark.usefixtures("own_place")
PROMISED = [
    "Base", "Dye", "Swatch", "lab", "weights", "delta_e", "tint", "fit_dyes", "predict_band",
    "dye_from_swatch", "base_from_lab", "find_recipes", "next_swatch", "measure_swatch",
    "add_swatch", "list_swatches",
]  # fmt: skip
"""What scripts of others call, wherever it stands."""
FORMS = [
    "plan_from_form", "record_from_form", "drop_from_form", "jar_from_form",
    "bottle_from_form",
]  # fmt: skip
"""What reads the fields of a page, as they stand in a link from anywhere."""
STRANGERS = [
    "colour_from_text", "region_from_text", "corners_from_text", "tint_plan_from",
    "record_from_fields", "read_picture", "read_csv", "import_csv", "import_zip",
    "merge_swatches", "take_bottles",
]  # fmt: skip
"""What reads texts and files of others."""
NAMED = sorted({*exported(tinting), *PROMISED, *FORMS, *STRANGERS})
UNKNOWN_ID = "00000000-0000-4000-8000-000000000000"
MAYBE = st.booleans()
DEMO_BASES = st.sampled_from(["off-white TPU", "natural TPU"]).map(demo_base)
GREEN_BROWN = [demo_dyes()[0], dataclasses.replace(demo_dyes()[4], name="brown")]
BLANK_OR_GREEN = st.sampled_from(["", "reed green"])

ARGUMENTS: Given = {
    # things
    "base": bases(), "dyes": dye_lists(), "plan": plans(), "fit": fits(), "mix": mixes(),
    "swatches": st.lists(swatches(), min_size=1, max_size=3), "record": records(),
    "records": record_lists(), "before": or_none(records()), "form": st.nothing(),
    # texts and choices
    "name": NAMES, "text": or_none(NAMES), "light": LIGHTS, "test_light": LIGHTS,
    "reference_light": LIGHTS, "observer": st.sampled_from([2, 10]), "kind": KINDS,
    "backing": st.sampled_from(BACKINGS), "geometry": st.sampled_from(GEOMETRIES),
    "method": st.sampled_from(sorted(READING_ERROR)), "note": NAMES, "base_name": NAMES,
    "base_kind": KINDS, "dye": BLANK_OR_GREEN, "existing": st.sampled_from(["keep", "replace"]),
    "id": st.just(UNKNOWN_ID), "made_at": records().map(lambda record: record.made_at),
    "owned": MAYBE, "replaces": MAYBE,
    "used": MAYBE, "exact": MAYBE, "flat_field": MAYBE, "partial": MAYBE, "progress": st.none(),
    # colours and spectra
    "lab": labs(), "target_lab": labs(), "target": labs(), "lab1": labs(), "lab2": labs(),
    "base_lab": labs(), "rgb": st.tuples(*[SHARES] * 3), "reflectance": spectra(0.05, 1.0),
    "absorptivity": spectra(0.0, 50.0), "second_absorptivity": st.just(()),
    "absorptivity_change": st.none(),
    "strength_spread": st.floats(0.0, 1.0), "missed": st.floats(0.0, 9.0),
    "limit": st.floats(0.0, 9.0), "hand": hands(), "factor": sizes(0.2, 5.0),
    "spread": st.floats(0.0, 3.0), "known_by": st.sampled_from(["estimates", "log"]),
    "standard": spectra(0.01), "sample": spectra(0.01), "covariance": st.none(),
    "specular": st.floats(0.0, 0.04), "scattering_thickness": sizes(1e-6, 1e4),
    # amounts
    "share": st.floats(0.05, 0.99), "shares": dye_shares(), "coats": st.integers(1, 5),
    "saturation": sizes(1e-3, 1e6), "coat_loss": st.floats(0.0, 0.99),
    "error": sizes(0.1, 20.0), "reading_error": st.floats(0.0, 10.0), "area": sizes(1e-7, 100.0),
    "thickness": sizes(1e-5, 1.0), "batch_volume": sizes(1e-7, 0.1), "volume": sizes(1e-8, 0.1),
    "drop_volume": sizes(5e-9, 2e-7), "room_volume": sizes(1.0, 1e5), "coverage": sizes(1e-9, 1e-3),
    "loss_factor": st.floats(1.0, 10.0), "total_volume": sizes(1e-6, 0.1),
    "count": st.integers(1, 6), "difference": st.floats(0.0, 100.0), "alcohol_grade": SHARES,
    "drying_time": st.floats(0.0, 3e8),
    # recipes
    "lights": st.lists(LIGHTS, min_size=1, max_size=3).map(tuple), "max_dyes": st.integers(1, 3),
    "max_drops": st.integers(1, 20), "max_coats": st.integers(1, 5),
    # pictures and files
    "photo": or_none(mutated(pictures())), "file": mutated(pictures()),
    "base_region": st.just((0, 0, 40, 12)), "swatch_region": st.just((0, 18, 40, 30)),
    "card_region": st.just((0, 34, 40, 46)), "chart_corners": st.none(),
    "card_reflectance": or_none(st.floats(0.02, 1.0)), "content": mutated(tables()),
    "photos": or_none(st.dictionaries(NAMES, mutated(pictures()), max_size=2)),
    "path": st.just("log.sqlite3"), "value": st.one_of(plans().map(plain), loose_json()),
    "plain": st.one_of(records().map(record_fields), spoilt(records().map(record_fields))),
}  # fmt: skip
"""What every door is handed by the name of the argument."""
SPECIAL: dict[str, Given] = {
    "Swatch": {"reflectance": or_none(spectra()), "base": st.just(""), "coats": COATS},
    "SwatchRecord": {"photo": st.just(""), "id": st.uuids().map(str), "coats": COATS},
    "colour_from_text": {"text": st.sampled_from(["#9aa86b", "50 0 0", "lab 62; -16; 28"]),
                         "name": st.just("text")},
    "corners_from_text": {"text": st.just("0 0, 47 0, 47 47, 0 47"), "name": st.just("text")},
    "demo_base": {"name": st.sampled_from(["off-white TPU", "natural TPU"])},
    "dye_from_swatch": {"base": DEMO_BASES,
                        "lab": st.one_of(st.just((45.0, 20.0, 10.0)), labs())},
    "dye_from_blot": {"lab": st.one_of(st.just((45.0, 20.0, 10.0)), labs()),
                      "paper": st.just((93.0, 0.0, 3.0))},
    "estimate_band": {"dyed": st.builds(tint, bases(), mixes(), COATS)},
    "find_recipes": {
        "dyes": dye_lists(4),
        "fit": st.none(),
        "only": st.just(()),
        "max_share": st.floats(0.01, 1.0),
        "surface": st.one_of(st.none(), st.floats(1e-4, 1e-2)),
    },
    "fit_dyes": {
        "base": st.one_of(DEMO_BASES, bases(), bases().map(lambda base: {"": base})),
        "swatches": st.one_of(
            st.just([Swatch(shares={"a": 0.1}, coats=2, lab=(60, 0, 20))]),
            st.lists(swatches(), min_size=1, max_size=3),
        ),
    },
    "hand_factor": {"strip": strips(), "fit": st.none(),
                    "base": DEMO_BASES, "dyes": st.just(GREEN_BROWN)},
    "import_zip": {"content": st.one_of(zips(), mutated(zips()))},
    "lab_of_screen_colour": {"light": st.just("D65")},
    "list_swatches": {"base": or_none(NAMES), "dye": or_none(NAMES), "used": or_none(MAYBE)},
    "measure_swatch": {"photo": st.one_of(pictures().map(read_picture), mutated(pictures()))},
    "next_swatch": {"base": st.just("")},
    "plan_from_form": {"dyes": st.just([*demo_dyes()])},
    "predict_band": {
        "base": st.just(""),
        "shares": st.sampled_from([{}, {"reed green": 0.1}, {"brown": 0.2}]),
    },
    "read_strip": {"photo": pictures().map(read_picture),
                   "regions": st.just([(0, 0, 40, 12), (0, 18, 40, 30)]),
                   "coats": st.just((0, 2))},
    "region_from_text": {"text": st.just("0 0 40 12"), "name": st.just("text")},
    "steer": {"mix": st.just([(GREEN_BROWN[0], 0.1)]), "coats": st.just(1),
              "dyes": st.just(GREEN_BROWN[1:]), "fit": st.none(), "max_coats": st.integers(2, 5)},
    "take_bottles": {"text": st.one_of(bottle_files(), mutated(bottle_files()))},
    "tint": {"coats": COATS},
    "tint_plan_from": {"value": st.one_of(plans().map(plain), spoilt(plans().map(plain)))},
}  # fmt: skip
"""What single doors mean by their arguments, where it is not what the name says elsewhere."""
EXAMPLES = 25
HEAVY = {"find_recipes": 15, "next_swatch": 10}
OURS = {"fit", "progress"}
"""What another door has made and checked: these are not spoilt."""
CALLED = {
    "shares": "dye", "content": "CSV zip", "file": "photo", "plain": "swatch", "value": "tint",
    "total_volume": "batch", "name": "demo", "photo": "id",
    "coat_loss": "saturation", "before": "record", "regions": "patch",
    "text": "bottles bottle blot",
}  # fmt: skip
"""Other words by which a refusal may name an argument."""


def called(name: str) -> Any:
    return door("tinting", name)


def arguments(name: str) -> Strategy:
    special = dict(SPECIAL.get(name, {}))
    if name in FORMS:
        fields = forms(sys.modules[called(name).__module__].DEFAULTS, 6)
        special["form"] = fields.map(
            lambda some: {"colour": "60 0 20", "name": "moss", "blot": "48 -14 33"} | some
        )
    return calls(called(name), ARGUMENTS, special)


@pytest.mark.parametrize("name", NAMED)
def test_admitted_arguments_give_a_finite_result_or_a_refusal(name: str) -> None:
    check_admitted(called(name), arguments(name), HEAVY.get(name, EXAMPLES))


@pytest.mark.parametrize("name", NAMED)
def test_a_number_of_another_kind_gives_a_plain_numbers_answer(name: str) -> None:
    check_same_answer(called(name), arguments(name))


@pytest.mark.parametrize("name", NAMED)
def test_a_wrong_thing_is_refused_by_its_name(name: str) -> None:
    works = name not in ("edit_swatch", "remove_swatch")  # the log is empty
    check_spoilt(called(name), arguments(name), OURS, CALLED, works)


def test_every_row_is_for_a_door() -> None:
    assert {*SPECIAL, *HEAVY} <= {*NAMED}
