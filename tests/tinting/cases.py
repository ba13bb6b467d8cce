"""What the property tests hand to the public functions of tinting, by name of the argument.

An argument that stands under its own name alone means the same in every function. Where a
function means something else by it, the function is named too.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime

import numpy as np
from hypothesis import strategies as st

from tests.hostile import Names, Strategy
from tests.strategies_files import loose_json, mutated, parcels, pictures, spoilt, tables
from tests.tinting.strategies import (
    COATS,
    KINDS,
    LIGHTS,
    NAMES,
    PRINTED,
    SHARES,
    bases,
    cameras,
    choices,
    dye_lists,
    dye_shares,
    dyes,
    fits,
    labs,
    laid_dyes,
    loads_and_limits,
    mixes,
    plans,
    record_lists,
    records,
    sizes,
    spectra,
    swatches,
)
from tinting.forms import jar
from tinting.forms import swatch as logform
from tinting.forms import tint as form
from tinting.learn.learned import learn
from tinting.log.record import GEOMETRIES, READING_ERROR, record_fields
from tinting.log.table import COLUMNS, cells_of_record
from tinting.mix.plan import plain
from tinting.photo.picture import read_picture
from tinting.skin.demo import demo_dyes
from tinting.skin.inputs import BACKINGS

LOG = "log.swatches.sqlite3"
UNKNOWN_ID = "00000000-0000-4000-8000-000000000000"
MAYBE = st.booleans()
PICTURES = pictures().map(read_picture)
NUMBERS = st.one_of(
    st.floats(0.0, 1.0),
    st.lists(st.floats(0.0, 1.0), min_size=1, max_size=4),
    spectra(),
    st.tuples(spectra(), spectra()).map(np.array),
)


def some(whole: Strategy) -> Strategy:
    return st.one_of(st.none(), whole)


def typed(defaults: Mapping[str, str]) -> Strategy:
    """Forms: some fields of the defaults with other texts, most of them nonsense."""
    texts = st.one_of(
        st.sampled_from(["", "0", "-1", "1e400", "nan", "12", "1,5", "#9aa86b", "50 0 0", "lab 1",
                         "none", "reed green", "my own, by its colour", "opaque", "1e-320", "\0"]),
        st.text(max_size=12),
        st.floats().map(str),
    )  # fmt: skip
    return st.dictionaries(st.sampled_from(sorted(defaults)), texts, max_size=6)


def xyz() -> Strategy:
    plain_one = st.tuples(*[st.floats(0.01, 100.0)] * 3)
    return st.one_of(plain_one, plain_one.map(np.array), st.tuples(plain_one, plain_one))


def cells() -> Strategy:
    """Cells of a row of a table, some put in place of others."""
    texts = st.one_of(st.text(max_size=8), st.sampled_from(["1e999", "=1", "1,440", "a=1;a=1"]))
    changed = st.dictionaries(st.sampled_from(COLUMNS), texts, max_size=3)
    return st.builds(lambda record, put: {**cells_of_record(record), **put}, records(), changed)


def rows() -> Strategy:
    """Fields of a row of the log as they are kept, and others."""
    return st.one_of(spoilt(records().map(record_fields)), loose_json())


ARGUMENTS: dict[Names, Strategy] = {
    # things
    "base": bases(), "dye": dyes(), "dyes": dye_lists(), "plan": plans(), "fit": fits(),
    "record": records(), "records": record_lists(), "choices": choices(), "mix": mixes(),
    "swatches": st.lists(swatches(), min_size=1, max_size=4), "picture": PICTURES,
    "form": typed(form.DEFAULTS), "before": some(records()), "swatch": swatches(),
    # texts and choices
    "name": NAMES, "light": LIGHTS, "observer": st.sampled_from([2, 10]), "kind": KINDS,
    "backing": st.sampled_from(BACKINGS), "text": NAMES, "test_light": LIGHTS,
    "reference_light": LIGHTS, "method": st.sampled_from(["CIE 1976", "CIE 2000"]),
    "correction": st.sampled_from(["additive", "multiplicative"]),
    "separator": st.sampled_from(",;"),
    "geometry": st.sampled_from(GEOMETRIES), "note": PRINTED, "cell": st.text(max_size=30),
    "existing": st.sampled_from(["keep", "replace"]), "id": st.just(UNKNOWN_ID),
    "base_name": PRINTED, "base_kind": KINDS, "quantity": st.sampled_from(["swelling", "between"]),
    # colours and spectra
    "lab": labs(), "target_lab": labs(), "target": labs(), "lab1": labs(), "lab2": labs(),
    "base_lab": labs(), "after": labs(), "sample_test": xyz(), "standard_test": xyz(),
    "sample_reference": xyz(), "standard_reference": xyz(), "xyz": xyz(),
    "rgb": st.tuples(*[SHARES] * 3),
    "reflectance": spectra(), "absorptivity": spectra(0.0, 50.0), "standard": spectra(0.01),
    "sample": spectra(0.01), "saturation": sizes(1e-3, 1e6), "coat_loss": st.floats(0.0, 0.99),
    "second_absorptivity": st.just(()), "covariance": st.none(), "specular": st.floats(0.0, 0.04),
    "scattering_thickness": sizes(1e-6, 1e4), "absorption": NUMBERS, "measured": NUMBERS,
    "internal": NUMBERS, "scattering": NUMBERS, "transmittance": NUMBERS, "absorbance": NUMBERS,
    "absorption_ratio": NUMBERS, "lowest": st.floats(0.0, 0.2), "highest": st.floats(0.5, 1.0),
    "white_from": st.tuples(*[sizes(0.1, 200.0)] * 3),
    "white_to": st.tuples(*[sizes(0.1, 200.0)] * 3),
    "matrix": st.just(np.eye(3)), "degree": st.sampled_from([1, 2]),
    "region": st.just((0, 0, 40, 12)),
    "external_reflection": st.floats(0.0, 0.2), "internal_reflection": st.floats(0.0, 0.9),
    "refractive_index": st.floats(1.0, 4.0), "white": st.floats(0.1, 1.0),
    "black": st.floats(0.0, 0.09),
    "path_factor": st.floats(1.0, 4.0), "extinction": sizes(1e-6, 1e6),
    # amounts
    "share": SHARES, "coats": st.one_of(COATS, st.integers(1, 3)), "shares": dye_shares(),
    "error": sizes(0.01, 20.0),
    "reading_error": st.floats(0.0, 10.0), "thickness": sizes(1e-5, 1.0),
    "batch_volume": sizes(1e-7, 0.1),
    "drop_volume": sizes(5e-9, 2e-7), "room_volume": sizes(1.0, 1e5), "area": sizes(1e-7, 100.0),
    "parts_dye": st.floats(0.0, 1e6), "parts_alcohol": st.floats(0.0, 1e6),
    "coverage": sizes(1e-9, 1e-3),
    "loss_factor": st.floats(1.0, 10.0),
    "drops": st.integers(10, 10000),
    "mass": sizes(1e-4, 1.0), "total_volume": sizes(1e-6, 0.1), "fewest": st.integers(1, 100),
    "volume": sizes(1e-8, 0.1), "share_now": SHARES, "share_wanted": SHARES,
    "open_area": sizes(1e-6, 1.0),
    "time": sizes(1e-3, 1e8), "rate": st.floats(0.0, 0.1), "loads": NUMBERS,
    "difference": st.floats(0.0, 100.0),
    "concentration": sizes(1e-6, 1e6), "path": sizes(1e-6, 1e3), "alcohol_grade": SHARES,
    "band": st.floats(0.0, 50.0),
    "drying_time": st.floats(0.0, 3e8), "used": MAYBE, "count": st.integers(1, 6),
    "width": st.just(3),
    # recipes
    "lights": st.lists(LIGHTS, min_size=1, max_size=3).map(tuple), "max_dyes": st.integers(1, 3),
    "max_drops": st.integers(1, 20), "max_coats": st.integers(1, 5), "exact": MAYBE,
    "progress": st.none(),
    # pictures and files
    "photo": some(mutated(pictures())), "longest_side": st.integers(32, 4000),
    "cautions": st.just(()),
    "pixels": st.integers(32, 40).map(lambda side: np.full((side, 33, 3), side, np.uint8)),
    "base_region": st.just((0, 0, 40, 12)), "swatch_region": st.just((0, 18, 40, 30)),
    "card_region": st.just((0, 34, 40, 46)), "chart_corners": st.none(), "flat_field": MAYBE,
    "card_reflectance": some(st.floats(0.02, 1.0)),
    "corners": st.just(((0, 0), (47, 0), (47, 47), (0, 47))),
    "content": mutated(tables()), "partial": MAYBE, "pictures": MAYBE,
    "photos": some(st.dictionaries(PRINTED, mutated(pictures()), max_size=2)),
    "file": mutated(pictures()),
}  # fmt: skip
WHERE: dict[Names, Strategy] = {"path": st.just(LOG)}
"""Where the log is, for the rooms that keep it."""


SPECIAL: dict[str, dict[Names, Strategy]] = {
    "log.pictures.load_photo": {"name": st.just("a.jpg")},
    "learn.band.base_place": {"base": st.just("")},
    "learn.band.predict_band": {
        "base": st.just(""), "share": st.floats(0.05, 0.99), "error": st.floats(0.0, 20.0),
        "shares": st.sampled_from([{}, {"reed green": 0.1}, {"marsh yellow": 0.2}]),
    },
    "mix.batch.drops_for": {"share": SHARES},
    "log.table.record_of_cells": {"cells": cells()},
    "forms.choices.Choices": {
        "learned": record_lists(2).map(learn), "bases": st.just({}),
        "dyes": dye_lists().map(lambda found: {dye.name: dye for dye in found}),
    },
    "colour.chart24.root_polynomial_matrix": {("rgb", "xyz"): cameras()},
    "colour.chart24.root_polynomial_xyz": {"rgb": cameras().map(lambda pair: pair[0])},
    "skin.demo.demo_base": {"name": st.sampled_from(["off-white TPU", "natural TPU"])},
    "learn.advice.next_swatch": {
        "dye": st.sampled_from(["", "reed green"]), "base": st.just(""), "error": sizes(0.1, 20.0),
    },
    "learn.fit.DyeFit.dyes_on": {"base": st.just("base")},
    "learn.fit.fit_dyes": {"base": st.one_of(bases(), bases().map(lambda base: {"": base}))},
    "forms.tint.colour_from_text": {
        "text": st.sampled_from(["#9aa86b", "50 0 0", "lab 62; -16; 28"])
    },
    "forms.tint.plan_from_form": {"dyes": dye_lists().map(lambda found: [*found, *demo_dyes()])},
    "skin.inputs.Base": {"reflectance": spectra(0.05, 1.0)},
    "skin.inputs.Swatch": {"reflectance": some(spectra()), "base": st.just("")},
    "colour.grid.check_array": {"value": labs(), "least": st.just(-300.0), "most": st.just(300.0)},
    "colour.grid.check_lab": {"value": labs()},
    "colour.grid.check_spectrum": {"value": spectra()},
    "forms.jar.drop_from_form": {"form": typed(jar.DEFAULTS)},
    "forms.jar.jar_from_form": {"form": typed(jar.DEFAULTS)},
    "log.swatches.list_swatches": {
        "base": some(PRINTED), "dye": some(PRINTED), "used": some(MAYBE), "text": some(PRINTED),
    },
    "log.swatches.read_photo": {"name": st.just("a.jpg")},
    "log.swatches.records_of": {"entries": st.dictionaries(PRINTED, rows(), max_size=3)},
    "forms.swatch.record_from_form": {"form": typed(logform.DEFAULTS)},
    "forms.swatch.rows_shown": {"form": typed(logform.DEFAULTS)},
    "mix.appearance.look": {"reflectance": spectra()},
    "photo.preview.corners_from_text": {"text": st.just("0 0, 47 0, 47 47, 0 47"), "name": NAMES},
    "photo.preview.marked_picture": {
        "marks": st.dictionaries(NAMES, st.just(((0.0, 0.0), (40.0, 12.0))), max_size=2)
    },
    "photo.preview.region_from_text": {"text": st.just("0 0 40 12"), "name": NAMES},
    "mix.instructions.waiting": {"quantity": st.sampled_from(["flash_off_time", "drying_time"])},
    "log.transfer.import_zip": {"content": mutated(parcels())},
    "photo.reading.measure_swatch": {"photo": st.one_of(PICTURES, pictures(), mutated(pictures()))},
    "photo.picture.as_picture": {"photo": st.one_of(PICTURES, mutated(pictures()))},
    "mix.plan.tint_plan_from": {"value": st.one_of(spoilt(plans().map(plain)), loose_json())},
    "recipe.search.find_recipes": {"dyes": dye_lists(4)},
    "paper.report.tint_parts": {"kept": spoilt(plans().map(plain))},
    "paper.report.tint_words": {"kept": spoilt(plans().map(plain))},
    "colour.screen.hex_from_srgb": {"rgb": st.tuples(*[SHARES] * 3)},
    "colour.screen.srgb_from_hex": {"text": st.sampled_from(["#9aa86b", "#000", "9aa86b"])},
    "skin.dyed.dyed_reflectance": {"absorption": spectra(0.0, 1e4)},
    "skin.absorptivity.absorption_of": {"reflectance": spectra(0.05, 0.8)},
    "log.record.SwatchRecord": {
        "id": st.uuids().map(str), "photo": st.just(""),
        "method": st.sampled_from(sorted(READING_ERROR)),
        "made_at": st.datetimes(datetime(1970, 1, 2), datetime(2199, 1, 1)).map(
            lambda time: time.replace(tzinfo=UTC)
        ),
    },
    "log.record.check_photo_name": {"value": st.just("a.jpg")},
    "log.record.record_from_fields": {"plain": rows()},
    "skin.uptake.dye_load": {"share": NUMBERS, "coats": st.floats(0.0, 50.0),
    "coat_loss": st.floats(0.0, 0.99)},
    "skin.uptake.dye_uptake": {("shares", "dyes"): laid_dyes()},
    "skin.uptake.skin_absorption": {("shares", "dyes"): laid_dyes()},
    "skin.uptake.uptake": {("loads", "saturations"): loads_and_limits()},
}  # fmt: skip
"""What single functions mean by their arguments, where it is not what the name says elsewhere."""
