"""The question of a recipe, and the colours of many recipes at once.

A recipe is a row: three numbers of dyes (the last one, of no dye, fills up), three whole
numbers of drops, a number of coats. Everything here works on arrays of such rows.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from tinting.colour.colorimetry import delta_e, lab_from_xyz, weights
from tinting.colour.grid import BANDS, Array
from tinting.mix.batch import volume_for_area
from tinting.skin.inputs import CHANGE_LOADS, Base, Dye, Hand, check_hand
from tinting.skin.layer import Layer, layer_loss, skin_layer
from tinting.skin.uptake import change_places, dye_load

Whole = NDArray[np.intp]
MOST_DYES = 3
MOST_DROPS = 8191
"""More drops of one dye nobody counts."""
_SHIFT = np.array([58, 53, 48, 34, 20, 6, 0])
"""Places of the bits of three dyes, three numbers of drops and the coats in one whole number."""
_STEP = 1e-7
"""A batch is measured out to a tenth of a millilitre. [m3]"""


@dataclass(frozen=True, kw_only=True, eq=False)
class Question:
    """What is asked: a base, the dyes at hand, and the colour wanted under each light.

    ``targets`` (L, 3) is CIELAB under each of ``lights`` for the ``observer`` [degree]; volumes
    in m3. Without a ``batch_volume`` the batch is what the ``surface`` [m2] needs. Dyes together
    are at most ``max_share`` of the mix. ``hand`` lays it on, None where it was not measured.
    """

    base: Base
    dyes: tuple[Dye, ...]
    targets: Array = field(repr=False)
    lights: tuple[str, ...]
    observer: int
    batch_volume: float | None
    drop_volume: float
    max_dyes: int
    max_drops: int | None
    max_coats: int
    max_share: float = 0.5
    surface: float | None = None
    hand: Hand | None = None

    @cached_property
    def batches(self) -> Array:
        """(max_coats + 1,) volume of the mix for so many coats. [m3]"""
        coats = range(self.max_coats + 1)
        if self.surface is None or self.batch_volume is not None:
            return np.full(len(coats), self.batch_volume)
        needed = [volume_for_area(self.surface, max(number, 1)) for number in coats]
        steps = [math.ceil(max(each, self.drop_volume) / _STEP - 1e-9) for each in needed]
        return np.array(steps) * _STEP

    @cached_property
    def most_drops(self) -> Whole:
        """(max_coats + 1,) how many drops together the mix can hold."""
        return (self.max_share * self.batches / self.drop_volume + 1e-9).astype(np.intp)

    @cached_property
    def drop_caps(self) -> Whole:
        """(max_coats + 1,) how many drops of one dye there can be."""
        return np.minimum(self.most_drops, self.max_drops or MOST_DROPS)

    @cached_property
    def most_load(self) -> Array:
        """(J + 1,) the most load that one dye can lay down."""
        return np.asarray((self.drop_caps[:, None] * self.drop_load).max(axis=0))

    @cached_property
    def absorptivity(self) -> Array:
        """(J + 1, 36) of the dyes and of no dye."""
        return np.array([*(dye.absorptivity for dye in self.dyes), np.zeros(BANDS)])

    @cached_property
    def second_absorptivity(self) -> Array:
        """(J + 1, 36) another opinion on the same."""
        return np.array([*(dye.second_absorptivity for dye in self.dyes), np.zeros(BANDS)])

    @cached_property
    def strength_spreads(self) -> Array:
        """(J + 1,) spread of ln of how strong each dye is."""
        return np.array([*(dye.strength_spread for dye in self.dyes), 0.0])

    @cached_property
    def strangers(self) -> NDArray[np.bool_]:
        """(J + 1,) which of the dyes are known by a stranger's swatches."""
        return np.array([*(dye.covariance is None for dye in self.dyes), False])

    @cached_property
    def missed(self) -> Array:
        """(J + 1,) how far each dye is from the colour it is known by. [dE]"""
        return np.array([*(dye.missed for dye in self.dyes), 0.0])

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
        share = self.drop_volume / self.batches[:, None]
        loads = check_hand(self.hand) * np.array(dye_load(share, coats[:, None], losses))
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
        code = (parts.astype(np.int64) << _SHIFT).sum(axis=1)
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
        rows, change = _changes(question, dyes[:, slot], loads[:, slot])
        absorption[rows] += taken[rows, slot, None] * change
    # only rounding can bring a change below what it is added to
    return np.asarray(np.maximum(absorption, 0.0))


def slot_absorptions(question: Question, dyes: Whole, loads: Array, absorptivity: Array) -> Array:
    """Return the absorption (N, 3, 36) by each dye, of spectra ``absorptivity`` (J + 1, 36)."""
    taken = loads / (1 + (loads * question.crowding[dyes]).sum(axis=1, keepdims=True))
    found = absorptivity[dyes]
    for slot in range(MOST_DYES):
        rows, change = _changes(question, dyes[:, slot], loads[:, slot])
        found[rows, slot] += change
    return np.asarray(np.maximum(taken[:, :, None] * found, 0.0))


def _changes(question: Question, dyes: Whole, loads: Array) -> tuple[Whole, Array]:
    """Which of some dyes (N,) change with load, and their change (M, 36) at these."""
    rows = np.flatnonzero(question.changing[dyes])
    place, part = change_places(loads[rows])
    change = (1 - part)[:, None] * question.changes[dyes[rows], place]
    change += part[:, None] * question.changes[dyes[rows], place + 1]
    return rows, change


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
    return rows[rows.drops.sum(axis=1) <= question.most_drops[rows.coats]]
