"""The question of a recipe, and the colours of many recipes at once.

A recipe is a row: three numbers of dyes (the last one, of no dye, fills up), three whole
numbers of drops, a number of coats. Everything here works on arrays of such rows.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from tinting.colour.colorimetry import delta_e, lab_from_xyz, weights
from tinting.colour.grid import BANDS, Array
from tinting.skin.inputs import CHANGE_LOADS, Base, Dye
from tinting.skin.layer import Layer, layer_loss, skin_layer
from tinting.skin.uptake import change_places, dye_load

Whole = NDArray[np.intp]
MOST_DYES = 3
_RADIX = 256 ** np.arange(2 * MOST_DYES, -1, -1, dtype=np.int64)
"""No number of a recipe reaches 256."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Question:
    """What is asked: a base, the dyes at hand, and the colour wanted under each light.

    ``targets`` (L, 3) is CIELAB under each of ``lights`` for the ``observer`` [degree]; volumes
    in m3.
    """

    base: Base
    dyes: tuple[Dye, ...]
    targets: Array = field(repr=False)
    lights: tuple[str, ...]
    observer: int
    batch_volume: float
    drop_volume: float
    max_dyes: int
    max_drops: int
    max_coats: int

    @cached_property
    def absorptivity(self) -> Array:
        """(J + 1, 36) of the dyes and of no dye."""
        return np.array([*(dye.absorptivity for dye in self.dyes), np.zeros(BANDS)])

    @cached_property
    def changes(self) -> Array:
        """(J + 1, 25, 36) how absorptivities change with load, see `tinting.skin.inputs.Dye`."""
        none = np.zeros((CHANGE_LOADS.size, BANDS))
        found = [dye.absorptivity_change for dye in self.dyes]
        return np.array([*(none if change is None else change for change in found), none])

    @cached_property
    def changing(self) -> NDArray[np.bool_]:
        """(J + 1,) which of the dyes do change with load."""
        return np.array([*(dye.absorptivity_change is not None for dye in self.dyes), False])

    @cached_property
    def crowding(self) -> Array:
        """(J + 1,) share of the skin's room that one unit of load takes."""
        return np.array([*(1 / dye.saturation for dye in self.dyes), 0.0])

    @cached_property
    def drop_load(self) -> Array:
        """(max_coats + 1, J + 1) load that one drop lays down with so many coats."""
        coats = np.arange(self.max_coats + 1.0)
        losses = np.array([*(dye.coat_loss for dye in self.dyes), 0.0])
        loads = dye_load(self.drop_volume / self.batch_volume, coats[:, None], losses)
        loads[:, -1] = 0.0
        return loads

    @cached_property
    def matrix(self) -> Array:
        """(36, 3 L) from reflectance to XYZ under all lights."""
        return np.hstack([weights(light, self.observer) for light in self.lights])

    @cached_property
    def combinations(self) -> Whole:
        """(C, 3) all choices of 1 to ``max_dyes`` dyes, filled up with no dye."""
        none = len(self.dyes)
        rows = [
            (*chosen, *(none,) * (MOST_DYES - size))
            for size in range(1, self.max_dyes + 1)
            for chosen in combinations(range(none), size)
        ]
        return np.array(rows, dtype=np.intp).reshape(-1, MOST_DYES)

    @cached_property
    def layer(self) -> Layer:
        """The constants of the dyed skin over this base."""
        base = self.base
        return skin_layer(base.reflectance, base.specular, base.scattering_thickness)

    @cached_property
    def loss_matrix(self) -> Array:
        """(3 L, 36) from what `tinting.skin.layer.layer_loss` gives to what XYZ loses."""
        return np.asarray(self.layer.gain * self.matrix.T)

    @cached_property
    def bare_xyz(self) -> Array:
        """(3 L,) XYZ of the bare base under all lights."""
        return np.asarray(self.base.reflectance @ self.matrix)

    @property
    def most_drops_together(self) -> int:
        """How many drops the batch can hold."""
        return int(self.batch_volume / self.drop_volume + 1e-9)


@dataclass(frozen=True, kw_only=True, eq=False)
class Rows:
    """Recipes as rows: ``dyes`` (N, 3), ``drops`` (N, 3), ``coats`` (N,)."""

    dyes: Whole = field(repr=False)
    drops: Whole = field(repr=False)
    coats: Whole = field(repr=False)

    def __getitem__(self, chosen: Whole | NDArray[np.bool_]) -> Rows:
        return Rows(dyes=self.dyes[chosen], drops=self.drops[chosen], coats=self.coats[chosen])

    @property
    def number(self) -> int:
        """How many recipes."""
        return len(self.coats)

    def distinct(self) -> Rows:
        """Return the recipes without repeats."""
        parts = np.column_stack([self.dyes, self.drops, self.coats])
        code = parts @ _RADIX
        return self[np.sort(np.unique(code, return_index=True)[1])]


def joined(parts: list[Rows]) -> Rows:
    """Return several sets of rows as one."""
    return Rows(
        dyes=np.concatenate([part.dyes for part in parts]),
        drops=np.concatenate([part.drops for part in parts]),
        coats=np.concatenate([part.coats for part in parts]),
    )


def load_absorptions(question: Question, dyes: Whole, loads: Array) -> Array:
    """Return the absorption (N, 36) of the skin for loads (N, 3) of ``dyes`` (N, 3)."""
    taken = loads / (1 + (loads * question.crowding[dyes]).sum(axis=1, keepdims=True))
    spread = np.zeros((len(dyes), len(question.dyes) + 1))
    spread[np.arange(len(dyes))[:, None], dyes] = taken
    absorption = spread @ question.absorptivity
    for slot in range(MOST_DYES):
        rows = np.flatnonzero(question.changing[dyes[:, slot]])
        place, part = change_places(loads[rows, slot])
        dye, size = dyes[rows, slot], taken[rows, slot, None]
        absorption[rows] += size * (1 - part)[:, None] * question.changes[dye, place]
        absorption[rows] += size * part[:, None] * question.changes[dye, place + 1]
    # only rounding can bring a change below what it is added to
    return np.asarray(np.maximum(absorption, 0.0))


def load_labs(question: Question, dyes: Whole, loads: Array) -> Array:
    """Return CIELAB (N, L, 3) under every light for loads (N, 3) of ``dyes`` (N, 3)."""
    return absorption_labs(question, load_absorptions(question, dyes, loads))


def absorption_labs(question: Question, absorption: Array) -> Array:
    """Return CIELAB (N, L, 3) under every light for skins of absorption (N, 36)."""
    layer = question.layer
    rest = layer.level + layer.slope * absorption
    lost = layer_loss(absorption, absorption + layer.own, rest, layer.twice)
    seen = question.bare_xyz - lost @ question.loss_matrix.T
    xyz = seen.reshape(-1, len(question.lights), 3)
    labs = [
        lab_from_xyz(xyz[:, number], light, question.observer)
        for number, light in enumerate(question.lights)
    ]
    return np.stack(labs, axis=1)


def row_loads(question: Question, rows: Rows) -> Array:
    """Return the loads (N, 3) that the drops and coats of recipes lay down."""
    return rows.drops * question.drop_load[rows.coats[:, None], rows.dyes]


def row_differences(question: Question, rows: Rows) -> Array:
    """Return CIEDE2000 (N, L) of recipes from the target under every light."""
    labs = load_labs(question, rows.dyes, row_loads(question, rows))
    return np.asarray(delta_e(labs, question.targets))


def allowed(question: Question, rows: Rows) -> Rows:
    """Return those recipes whose drops the batch can hold."""
    return rows[rows.drops.sum(axis=1) <= question.most_drops_together]
