"""Bases, dyes, swatches, rows of the log, tints and files of every kind, for property tests."""

from __future__ import annotations

import functools
import io
import json
import math
import zipfile
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
from hypothesis import strategies as st
from PIL import Image

from data.store.design import design_text
from tests.strategies import NAMES, Strategy, or_none, sizes
from tinting import (
    Base,
    Dye,
    DyeFit,
    Swatch,
    SwatchRecord,
    TintPlan,
    demo_base,
    demo_dyes,
    fit_dyes,
    light_names,
    tint,
)
from tinting.log.bottles import FORMAT, VERSION
from tinting.log.record import GEOMETRIES, READING_ERROR
from tinting.log.table import write_csv
from tinting.mix.plan import plain
from tinting.skin.demo import demo_base_names
from tinting.skin.inputs import BACKINGS, SCATTERING_THICKNESS, Hand

LIGHTS = st.sampled_from(light_names())
COATS = st.integers(0, 50)
SHARES = st.one_of(st.floats(0.0, 1.0), st.sampled_from([0.0, 1e-309, 1e-207, 1e-12, 1.0]))
KINDS = st.sampled_from(sorted(SCATTERING_THICKNESS))
REAL_LABS = ((88.5, -0.8, 6.5), (62.0, -16.0, 28.0), (45.0, 20.0, 10.0), (30.0, 0.0, 0.0))


def labs() -> Strategy:
    """CIELAB triples, real colours and others, as tuples, lists and arrays."""
    side = st.one_of(st.floats(-60.0, 60.0), st.floats(-200.0, 200.0))
    free = st.tuples(st.floats(0.0, 100.0), side, side)
    near = st.sampled_from(REAL_LABS)
    return st.one_of(near, free, free.map(list), free.map(np.array))


@st.composite
def spectra(draw: Any, least: float = 0.0, most: float = 1.0) -> Any:
    """36 numbers between the bounds: level, smooth or jagged."""
    kind = draw(st.integers(0, 3))
    low, high = draw(st.floats(least, most)), draw(st.floats(least, most))
    if kind == 0:
        shares = np.ones(36)
    elif kind == 1:
        shares = np.linspace(0.0, 1.0, 36)
    elif kind == 2:
        shares = np.random.default_rng(draw(st.integers(0, 999))).random(36)
    else:
        shares = (np.arange(36) % draw(st.integers(2, 36)) == 0).astype(float)
    made = np.clip(low + (high - low) * shares, least, most)
    return made.tolist() if draw(st.booleans()) else made


@st.composite
def bases(draw: Any) -> Base:
    if draw(st.booleans()):
        return demo_base(draw(st.sampled_from(demo_base_names())))
    specular = draw(st.floats(0.0, 0.04))
    return Base(
        reflectance=draw(spectra(specular + 1e-6, 1.0)),
        scattering_thickness=draw(sizes(1e-6, 1e4)),
        name=draw(NAMES),
        specular=specular,
        kind=draw(KINDS),
        thickness=draw(sizes(1e-5, 1.0)),
        backing=draw(st.sampled_from(BACKINGS)),
    )


@st.composite
def dyes(draw: Any) -> Dye:
    if draw(st.booleans()):
        return draw(st.sampled_from(demo_dyes()))
    strength = draw(sizes(1e-3, 1e6))
    return Dye(
        name=draw(NAMES),
        absorptivity=draw(spectra(0.0, strength)),
        saturation=draw(st.one_of(sizes(1e-3, 1e12), st.just(math.inf))),
        coat_loss=draw(st.floats(0.0, 0.999999)),
        second_absorptivity=draw(st.one_of(st.just(()), spectra(0.0, strength))),
    )


def dye_lists(most: int = 3) -> Strategy:
    return st.lists(dyes(), min_size=1, max_size=most, unique_by=lambda dye: dye.name)


@st.composite
def mixes(draw: Any) -> Any:
    """(dye, share) pairs, not more than 1 together, sometimes none."""
    chosen = draw(st.lists(dyes(), max_size=3, unique_by=lambda dye: dye.name))
    return tuple((dye, draw(SHARES) / max(len(chosen), 1)) for dye in chosen)


@st.composite
def dye_shares(draw: Any, names: Strategy = NAMES) -> dict[str, float]:
    found = draw(st.lists(names, max_size=3, unique=True))
    return {name: draw(SHARES) / max(len(found), 1) for name in found}


@st.composite
def swatches(draw: Any) -> Swatch:
    """Swatches of two dyes as they could be painted, some with an odd colour."""
    shares = draw(dye_shares(st.sampled_from(["reed green", "brown"])))
    coats = draw(st.integers(0, 4))
    error = draw(sizes(0.01, 20.0))
    if draw(st.integers(0, 3)) == 0:
        return Swatch(shares=shares, coats=coats, lab=draw(labs()), error=error)
    known = demo_dyes()
    pairs = [(known[len(name) % len(known)], share) for name, share in shares.items()]
    lab = tint(demo_base(), pairs, coats).lab() + draw(st.floats(-1.0, 1.0))
    return Swatch(shares=shares, coats=coats, lab=np.clip(lab, 0, 100), error=error)


def strips() -> Strategy:
    """Fields of a strip, at least one of them dyed."""
    field = Swatch(shares={"reed green": 0.1}, coats=2, lab=(70.0, -15.0, 25.0))
    return st.lists(swatches(), max_size=2).map(lambda some: [field, *some])


@st.composite
def records(draw: Any) -> SwatchRecord:
    days = draw(st.floats(0.0, 80000.0))
    return SwatchRecord(
        base_name=draw(st.one_of(st.just("off-white TPU"), NAMES)),
        base_lab=draw(st.one_of(st.just(REAL_LABS[0]), labs())),
        lab=draw(labs()),
        shares=draw(dye_shares(st.one_of(st.just("reed green"), NAMES))),
        coats=draw(COATS),
        base_kind=draw(KINDS),
        thickness=draw(sizes(1e-5, 1.0)),
        backing=draw(st.sampled_from(BACKINGS)),
        alcohol_grade=draw(st.floats(0.0, 1.0)),
        drying_time=draw(st.floats(0.0, 3.2e8)),
        light=draw(st.one_of(st.just("D65"), LIGHTS)),
        observer=draw(st.sampled_from([10, 10, 2])),
        geometry=draw(st.sampled_from(GEOMETRIES)),
        method=draw(st.sampled_from(sorted(READING_ERROR))),
        note=draw(st.one_of(st.just(""), NAMES, st.just("=1+1\n<b>"))),
        used=draw(st.booleans()),
        id=str(draw(st.uuids())),
        made_at=datetime(1970, 1, 1, tzinfo=UTC) + timedelta(days=days),
    )


def record_lists(most: int = 4) -> Strategy:
    return st.lists(records(), max_size=most)


def hands() -> Strategy:
    return st.builds(Hand, factor=sizes(0.2, 5.0), spread=st.floats(0.0, 3.0))


@st.composite
def plans(draw: Any) -> TintPlan:
    return TintPlan(
        name=draw(NAMES),
        base=draw(bases()),
        mix=draw(mixes()),
        coats=draw(COATS),
        target=draw(labs()),
        lights=tuple(draw(st.lists(LIGHTS, min_size=1, max_size=3))),
        batch_volume=draw(sizes(1e-7, 0.1)),
        drop_volume=draw(sizes(5e-9, 2e-7)),
        room_volume=draw(sizes(1.0, 1e5)),
        area=draw(sizes(1e-7, 100.0)),
        hand=draw(or_none(hands())),
    )


@functools.cache
def fitted(count: int) -> DyeFit:
    """A fit of that many swatches of two dyes."""
    green, brown = demo_dyes()[:2]
    made = []
    for index in range(count):
        pairs = ((green, 0.05 * (index + 1)), (brown, 0.03 * index))
        lab = tint(demo_base(), pairs, 1 + index % 3).lab()
        shares = {dye.name: share for dye, share in pairs if share}
        made.append(Swatch(shares=shares, coats=1 + index % 3, lab=lab))
    return fit_dyes(demo_base(), made)


def fits() -> Strategy:
    return st.sampled_from([1, 3]).map(fitted)


@functools.cache
def photo(kind: str = "JPEG", side: int = 48) -> bytes:
    """A picture of three fields of colour, as a file."""
    pixels = np.full((side, side, 3), 120, dtype=np.uint8)
    pixels[:16], pixels[-16:] = (150, 170, 90), (230, 228, 226)
    stream = io.BytesIO()
    Image.fromarray(pixels).save(stream, kind)
    return stream.getvalue()


def zipped(content: bytes, name: str) -> bytes:
    """A zip with that table and a picture under that name in it."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as made:
        made.writestr("swatches.csv", content)
        made.writestr(name, photo())
    return stream.getvalue()


def pictures() -> Strategy:
    return st.sampled_from(["JPEG", "PNG", "WEBP"]).map(photo)


def tables() -> Strategy:
    return record_lists(3).map(write_csv)


def zips() -> Strategy:
    names = st.sampled_from(["photos/a.jpg", "photos/../a.jpg", "/a", "photos/\\a", "a:b"])
    return st.builds(zipped, tables(), names)


def designs() -> Strategy:
    return plans().map(lambda plan: design_text({"tint": plain(plan)}).encode())


def bottle_files() -> Strategy:
    """A file of one bottle, by a blot on paper or by the swatches of the log."""
    blot = st.fixed_dictionaries(
        {"kind": st.just("Blot"), "lab": st.sampled_from([[45, 20, 10], [99, 0, 90]]),
         "bare_lab": st.just([93, 0, 3]), "share": st.floats(0.0, 1.0)}
    )  # fmt: skip
    bottle = st.fixed_dictionaries(
        {"kind": st.just("Bottle"), "name": NAMES, "lot": NAMES, "blot": or_none(blot)}
    )
    return bottle.map(
        lambda one: json.dumps({"format": FORMAT, "version": VERSION, "bottles": [one]}).encode()
    )
