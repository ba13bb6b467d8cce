"""Steer while painting: what a reading of the real part says of the coats that are to come.

Before the first coat a mix is doubtful: in its dyes, in the hand, in the part. A reading after a
coat tells most of that at once, for this mix on this part. What is left to choose is how many
coats more, of this mix or of a changed one; what is too dark cannot be undone.

Always true of the model: a coat carries the same share of the dye below off each time, and a mix
that is changed between coats goes on over what lies there.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product
from types import MappingProxyType
from typing import Any

import numpy as np

from data.rules import Caution, check_kind, check_number, check_whole, refuse
from tinting.colour.colorimetry import lab as lab_of
from tinting.colour.difference import delta_e
from tinting.colour.grid import Array, check_lab
from tinting.learn.band import Band, band_radius, hand_scatter, joint_covariance, predictions
from tinting.learn.fit import DyeFit
from tinting.learn.learned import MARK
from tinting.learn.leftover import LENGTH
from tinting.learn.prior import BRUSH_SCATTER
from tinting.mix.batch import DROP_VOLUME
from tinting.recipe.doubt import MATCHED, fit_place
from tinting.recipe.search import BATCH_VOLUME
from tinting.skin.dyed import ESTIMATE_ERROR, dyed_reflectance, tint
from tinting.skin.inputs import Base, Dye, Hand, check_hand
from tinting.skin.uptake import laid_load, skin_absorption

MOST_COATS = 20
RISKY = 0.2
"""Probability of ending too dark from which on a coat is warned of."""
_SURE = 0.05
_OWN_BRUSH = BRUSH_SCATTER / math.sqrt(2)
"""Half of the variance of a brush goes on from coat to coat, half is new for those to come."""
_SHARE = 0.8
_STRETCHES = (0.0, 0.25, 0.4, 0.55, 0.7, 0.85, 1.0, 1.2, 1.5, 2.0, 3.0)
_ADDED = (1, 2, 4, 7, 12, 20)
_LOOKED_AT = 24
_ROUNDS = 3
_NUDGE = 1e-3


@dataclass(frozen=True, kw_only=True, eq=False)
class Ahead:
    """What ``coats`` more of the mix of ``drops`` (in the batch) and ``shares`` would come to.

    ``band`` holds 80 % of the parts that read as this one does now, ``probability`` is that of a
    part within 2 dE of the target, ``too_dark`` that of one beyond it on the dark side.
    ``difference`` [dE] is CIEDE2000 of the middle from the target.
    """

    coats: int
    drops: Mapping[str, int] = field(repr=False)
    shares: Mapping[str, float]
    band: Band = field(repr=False)
    difference: float
    probability: float
    too_dark: float

    @property
    def lab(self) -> Array:
        """The middle of the band, CIELAB (3,)."""
        return self.band.lab


@dataclass(frozen=True, kw_only=True, eq=False)
class Steering:
    """Where a part stands after some coats, and how to go on.

    ``advice`` is "stop", "go on" with the mix as it is, or "change" the mix; ``best`` is what to
    do, ``same`` what 0, 1, 2 and more coats of the mix as it is would come to. ``load`` is how
    much of the mix this part has taken against what was expected, ``load_spread`` the spread of
    its logarithm, ``surprise`` [dE] how far the reading lies from what was expected.
    """

    advice: str
    best: Ahead
    same: tuple[Ahead, ...] = field(repr=False)
    load: float
    load_spread: float
    surprise: float
    text: str
    cautions: tuple[Caution, ...]


def steer(
    base: Base,
    mix: Sequence[tuple[Dye, float]],
    coats: int,
    lab: object,
    target: object,
    *,
    dyes: Sequence[Dye] = (),
    fit: DyeFit | None = None,
    hand: Hand | None = None,
    error: float = 2.0,
    max_coats: int = 5,
    batch_volume: float = BATCH_VOLUME,
    drop_volume: float = DROP_VOLUME,
) -> Steering:
    """Return how to go on with a part that has some coats on it, by a reading of it.

    Parameters
    ----------
    base : Base
        The bare part.
    mix : sequence of (Dye, float)
        What was laid on: 1 to 3 dyes with their volume share.
    coats : int
        How many coats lie on the part, 0 to 19.
    lab : array_like (3,)
        CIELAB of the part now, dry; None before the first coat.
    target : array_like (3,)
        The wanted CIELAB.
    dyes : sequence of Dye
        Others at hand, of which some drops may be added to the mix.
    fit : DyeFit, optional
        What swatches taught of the dyes together; of other dyes, what each says of itself.
    hand : Hand, optional
        Who lays it on; left out, it was not measured.
    error : float
        Of the reading. [dE]
    max_coats : int
        At most so many coats in all, 1 to 20.
    batch_volume, drop_volume : float
        Of the mix and of one drop, in which changes are counted. [m3]

    Raises
    ------
    ValueError
        In the form *name must be rule; got value*.

    Notes
    -----
    What dyes, hand and model leave open before the first coat is taken for normal and goes on
    from coat to coat; the reading is one observation of it, taken straight at the load that fits
    it best. The coats to come are brushed a little more or less by themselves. Of all ways on the
    surest in steps of 0.05, then the mix as it is, then fewer coats. After a mix was changed the
    part as it is now is a base of its own, see `tinting.skin.inputs.retouch`.
    """
    part = _part(base, mix, dyes, fit, hand)
    done = check_whole("coats", coats, least=0, most=MOST_COATS - 1)
    most = check_whole("max coats", max_coats, least=max(done, 1), most=MOST_COATS)
    goal = check_lab("target", target)
    off = check_number("error", error, least=0.01, most=20.0, unit="dE")
    drop = check_number("drop volume", drop_volume, least=5e-9, most=2e-7, unit="m3")
    batch = check_number("batch volume", batch_volume, least=drop, most=0.1, unit="m3")
    if (lab is None) is not (done == 0):
        rule = "the part's colour once a coat lies on it, and None before"
        raise refuse("lab and coats", rule, f"{lab} and {done}")
    read = None if lab is None else check_lab("lab", lab)
    seen = _seen(part, done, read, off)
    ways = _ways(part, seen, most - done, drop / batch, goal)
    ahead = _aheads(part, seen, [*ways.same, *ways.changed], goal, drop / batch)
    same = tuple(ahead[: len(ways.same)])
    best = _best(same, ahead[len(same) :])
    return _answer(seen, same, best, goal)


@dataclass(frozen=True, kw_only=True, eq=False)
class _Part:
    """The part, its dyes in order (those of the mix first), and the shares (J,) of the mix."""

    base: Base
    dyes: tuple[Dye, ...]
    shares: Array
    fit: DyeFit | None
    place: int
    columns: tuple[int, ...]
    hand: Hand | None
    scatter: float

    @property
    def losses(self) -> Array:
        """(J,) coat losses."""
        return np.array([dye.coat_loss for dye in self.dyes])


@dataclass(frozen=True, kw_only=True, eq=False)
class _Seen:
    """What a reading after ``done`` coats says: ``ln_load`` and its ``spread``, the ``innovation``
    (3,) and its inverse covariance ``sure`` (3, 3) by which other colours are corrected."""

    done: int
    ln_load: float
    spread: float
    innovation: Array
    sure: Array
    surprise: float


@dataclass(frozen=True, kw_only=True)
class _Row:
    """A way on: ``coats`` more of a mix of ``shares``."""

    coats: int
    shares: tuple[float, ...]


@dataclass(frozen=True, kw_only=True)
class _Ways:
    same: tuple[_Row, ...]
    changed: tuple[_Row, ...]


@dataclass(frozen=True, kw_only=True, eq=False)
class _Model:
    """CIELAB (M, 3) of rows, joint covariance (M, 3, M, 3) and slope (M, 3) against ln load."""

    lab: Array
    covariance: Array
    by_load: Array


def _part(
    base: Base,
    mix: Sequence[tuple[Dye, float]],
    dyes: Sequence[Dye],
    fit: DyeFit | None,
    hand: Hand | None,
) -> _Part:
    check_kind("base", base, Base, "a Base")
    check_hand(hand)
    pairs = tint(base, mix, 1).mix
    laid = [(dye, share) for dye, share in pairs if share > 0]
    if not 1 <= len(laid) <= 3:
        raise refuse("mix", "of 1 to 3 dyes with a share", len(laid))
    check_kind("dyes", dyes, Sequence, "a sequence of Dye")
    names = {dye.name for dye, _ in laid}
    if len(names) < len(laid):
        raise refuse("mix", "each dye once", [dye.name for dye, _ in laid])
    others = []
    for dye in dyes:
        check_kind("each of the dyes", dye, Dye, "a Dye")
        if dye.name not in names:
            names.add(dye.name)
            others.append(dye)
    every = (*(dye for dye, _ in laid), *others)
    known = None
    if fit is not None:
        check_kind("fit", fit, DyeFit, "a DyeFit")
        inside = [dye.name.removesuffix(MARK) in fit.dyes for dye in every]
        if all(inside[: len(laid)]):
            every = tuple(dye for dye, here in zip(every, inside, strict=True) if here)
            known = fit_place(fit, base)
    strange = known is None and any(dye.covariance is None for dye in every)
    order = list(known.fit.dyes) if known else []
    shares = np.zeros(len(every))
    shares[: len(laid)] = [share for _, share in laid]
    return _Part(
        base=base,
        dyes=every,
        shares=shares,
        fit=known.fit if known else None,
        place=known.place if known else 0,
        columns=tuple(order.index(dye.name.removesuffix(MARK)) for dye in every) if known else (),
        hand=hand,
        scatter=math.sqrt(hand_scatter(hand, strange) ** 2 - _OWN_BRUSH**2),
    )


def _effective(part: _Part, done: int, row: _Row) -> Array:
    """Shares (J,) that would lay down with all coats alike what lies there after a way on."""
    whole = done + row.coats
    unit, losses = np.ones(len(part.dyes)), part.losses
    below = part.shares * laid_load(unit, np.full_like(unit, done), losses) if done else 0.0
    kept = below * (1 - losses) ** row.coats
    new = laid_load(np.array(row.shares), np.full_like(unit, row.coats), losses)
    return np.asarray((kept + new) / laid_load(unit, np.full_like(unit, max(whole, 1)), losses))


def _model(part: _Part, done: int, rows: Sequence[_Row], load: float) -> _Model:
    """What is expected of some ways on, loads being ``load`` times what the hand lays on."""
    shares = np.array([_effective(part, done, row) for row in rows])
    coats = np.array([float(done + row.coats) for row in rows])
    factor = load * check_hand(part.hand)
    if part.fit is not None:
        whole = np.zeros((len(rows), len(part.fit.dyes)))
        whole[:, part.columns] = shares
        found = predictions(part.fit, whole, coats, part.place, factor)
        bare = coats == 0
        covariance = joint_covariance(part.fit, found)
        covariance[bare] = 0.0
        covariance[:, :, bare] = 0.0
        return _Model(lab=found.lab, covariance=covariance, by_load=found.hand_slope)
    return _estimated(part, shares, coats, factor)


def _estimated(part: _Part, shares: Array, coats: Array, factor: float) -> _Model:
    """The same by what each dye says of itself, see `tinting.learn.band.estimate_band`."""
    taken = _absorptions(part, shares, coats, factor)
    middle = _shown(part, taken.sum(axis=1))
    nudged = _shown(part, (1 + _NUDGE) * taken.sum(axis=1))
    moves = [_shown(part, _absorptions(part, shares, coats, factor, second=True).sum(axis=1))]
    moves[0] = moves[0] - middle
    for j in np.flatnonzero((shares > 0).any(axis=0)).tolist():
        ends, dye = [], part.dyes[j]
        for sign in (1, -1):
            times = np.ones(len(part.dyes))
            times[j] = math.exp(sign * dye.strength_spread / 2)
            ends.append(_shown(part, (times[:, None] * taken).sum(axis=1)))
        moves.append(ends[0] - ends[1])
    away = np.stack(moves)
    covariance = np.einsum("qmi,qnj->minj", away, away)
    amount = np.log(np.maximum(shares.sum(axis=1) * np.maximum(coats, 1e-9), 1e-12))
    alike = np.exp(-0.5 * ((amount[:, None] - amount[None, :]) / LENGTH) ** 2)
    painted = (coats > 0)[:, None] & (coats > 0)[None, :]
    missed = sum((dye.missed**2 for dye in part.dyes[: len(part.shares)]), 0.0)
    own = (ESTIMATE_ERROR**2 + missed) / 3 * alike * painted
    covariance += own[:, None, :, None] * np.eye(3)[None, :, None, :]
    return _Model(lab=middle, covariance=covariance, by_load=(nudged - middle) / _NUDGE)


def _absorptions(
    part: _Part, shares: Array, coats: Array, factor: float, second: bool = False
) -> Array:
    """Absorption (M, J, 36) by each dye, the others crowding it."""
    whole = skin_absorption(shares, coats, part.dyes, second=second, hand=factor)
    found = np.zeros((len(shares), len(part.dyes), whole.shape[1]))
    for j in np.flatnonzero((shares > 0).any(axis=0)).tolist():
        rest = [dye if k == j else _without(dye) for k, dye in enumerate(part.dyes)]
        found[:, j] = skin_absorption(shares, coats, rest, second=second, hand=factor)
    # each dye alone, and together exactly the whole
    return np.asarray(found * (whole / np.maximum(found.sum(axis=1), 1e-300))[:, None, :])


def _without(dye: Dye) -> Dye:
    """A dye that takes up room in the skin and no light."""
    none = np.zeros_like(dye.absorptivity)
    return Dye(name=dye.name, absorptivity=none, saturation=dye.saturation,
               coat_loss=dye.coat_loss)  # fmt: skip


def _shown(part: _Part, absorption: Array) -> Array:
    return lab_of(dyed_reflectance(absorption, part.base))


def _now(part: _Part) -> _Row:
    return _Row(coats=0, shares=tuple(part.shares.tolist()))


def _seen(part: _Part, done: int, read: Array | None, error: float) -> _Seen:
    """What the reading says, straight at the load that fits it best."""
    blank = _Seen(
        done=done, ln_load=0.0, spread=part.scatter, innovation=np.zeros(3),
        sure=np.zeros((3, 3)), surprise=0.0,
    )  # fmt: skip
    if read is None:
        return blank
    ln_load, variance = 0.0, part.scatter**2
    surprise, innovation, slope = 0.0, np.zeros(3), np.zeros(3)
    sure: Any = np.zeros((3, 3))
    for number in range(_ROUNDS):
        model = _model(part, done, [_now(part)], math.exp(ln_load))
        slope = model.by_load[0]
        whole = model.covariance[0, :, 0] + variance * np.outer(slope, slope)
        sure = np.linalg.inv(whole + error**2 / 3 * np.eye(3))
        innovation = read - model.lab[0] + ln_load * slope
        if number == 0:
            surprise = float(delta_e(read, model.lab[0]))
        if number < _ROUNDS - 1:
            ln_load = float(np.clip(variance * slope @ sure @ innovation, -1.5, 1.5))
    left = variance - variance**2 * float(slope @ sure @ slope)
    return _Seen(
        done=done,
        ln_load=ln_load,
        spread=math.sqrt(max(left, 0.0)),
        innovation=innovation,
        sure=sure,
        surprise=surprise,
    )


def _corrected(part: _Part, seen: _Seen, rows: Sequence[_Row]) -> tuple[Array, Array]:
    """Middle (M, 3) and covariance (M, 3, 3) of ways on, the reading being known."""
    model = _model(part, seen.done, [_now(part), *rows], math.exp(seen.ln_load))
    lab, slope = model.lab[1:], model.by_load[1:]
    each = np.arange(1, len(rows) + 1)
    shared = part.scatter**2 * slope[:, :, None] * slope[:, None, :]
    whole = model.covariance[each, :, each, :] + shared
    towards = model.covariance[1:, :, 0] + part.scatter**2 * (
        slope[:, :, None] * model.by_load[0][None, None, :]
    )
    middle = lab - seen.ln_load * slope + towards @ seen.sure @ seen.innovation
    left = whole - towards @ seen.sure @ towards.transpose(0, 2, 1)
    # every coat to come is brushed by itself
    more = np.array([row.coats for row in rows], dtype=np.float64)
    own = _OWN_BRUSH * more / np.maximum(seen.done + more, 1.0)
    left = left + (own[:, None] * slope)[:, :, None] * (own[:, None] * slope)[:, None, :]
    return middle, np.asarray((left + left.transpose(0, 2, 1)) / 2)


def _ways(part: _Part, seen: _Seen, most: int, per_drop: float, goal: Array) -> _Ways:
    """The mix as it is in all numbers of coats, and the nearest of the changed mixes."""
    plain = tuple(part.shares.tolist())
    same = tuple(_Row(coats=n, shares=plain) for n in range(most + 1))
    tried = sorted(_changed_shares(part, per_drop))
    rows = [_Row(coats=n, shares=shares) for n in range(1, most + 1)
            for shares in tried]  # fmt: skip
    if not rows:
        return _Ways(same=same, changed=())
    # near enough to choose by: what the reading shifts is much the same for all of one number
    shift = _corrected(part, seen, same)[0] - _plain_labs(part, seen, same)
    labs = _plain_labs(part, seen, rows) + shift[[row.coats for row in rows]]
    # a thin coat may lift some of the dye below, which nobody should count on
    lifting = labs[:, 0] > _plain_labs(part, seen, same[:1])[0, 0] + shift[0, 0]
    away = np.where(lifting, np.inf, delta_e(labs, goal))
    nearest = np.argsort(away, kind="stable")[: min(_LOOKED_AT, int((~lifting).sum()))]
    chosen = [rows[i] for i in nearest]
    return _Ways(same=same, changed=tuple(chosen))


def _plain_labs(part: _Part, seen: _Seen, rows: Sequence[_Row]) -> Array:
    """CIELAB (M, 3) of ways on without what a fit carries on from base to base."""
    shares = np.array([_effective(part, seen.done, row) for row in rows])
    coats = np.array([float(seen.done + row.coats) for row in rows])
    factor = math.exp(seen.ln_load) * check_hand(part.hand)
    return _shown(part, skin_absorption(shares, coats, part.dyes, hand=factor))


def _changed_shares(part: _Part, per_drop: float) -> set[tuple[float, ...]]:
    """Mixes of whole drops to try: each dye thinner or stronger, and a little of one more."""
    laid = np.flatnonzero(part.shares)
    drops = np.rint(part.shares / per_drop).astype(int)
    most = int(0.5 / per_drop)
    steps = [sorted({round(float(drops[j]) * times) for times in _STRETCHES}) for j in laid]
    found = set()
    for counted in product(*steps):
        row = np.zeros(len(part.dyes), dtype=int)
        row[laid] = counted
        found.add(tuple(row.tolist()))
    for j in range(laid.size, len(part.dyes)):
        for added, times in product(_ADDED, (0.0, 0.5, 1.0)):
            row = np.rint(drops * times).astype(int)
            row[j] = added
            found.add(tuple(row.tolist()))
    found -= {tuple(drops.tolist())}
    return {tuple((np.array(row) * per_drop).tolist()) for row in found if 0 < sum(row) <= most}


def _aheads(
    part: _Part, seen: _Seen, rows: Sequence[_Row], goal: Array, per_drop: float
) -> list[Ahead]:
    middles, covariances = _corrected(part, seen, rows)
    radii = band_radius(middles, covariances, _SHARE)
    found = []
    for row, middle, covariance, radius in zip(rows, middles, covariances, radii, strict=True):
        band = Band(lab=middle, covariance=covariance, radius=float(radius), share=_SHARE)
        around = band.around()
        beyond = (delta_e(goal, around) > MATCHED) & (around[:, 0] < goal[0])
        shares = {dye.name: share for dye, share in zip(part.dyes, row.shares, strict=True)}
        shares = {name: share for name, share in shares.items() if share > 0}
        drops = {name: round(share / per_drop) for name, share in shares.items()}
        found.append(
            Ahead(
                coats=row.coats,
                drops=MappingProxyType(drops),
                shares=MappingProxyType(shares),
                band=band,
                difference=float(delta_e(middle, goal)),
                probability=band.within(MATCHED, goal),
                too_dark=float(beyond.mean()),
            )
        )
    return found


def _best(same: Sequence[Ahead], changed: Sequence[Ahead]) -> Ahead:
    """The surest way, by simplicity among those of one step; the nearest where none is sure."""
    ways = [(0, each) for each in same] + [(1, each) for each in changed]
    if max(each.probability for _, each in ways) < _SURE:
        return min(ways, key=lambda way: (round(way[1].difference, 1), way[0], way[1].coats))[1]

    def rank(way: tuple[int, Ahead]) -> tuple[int, int, int, float]:
        step = int(way[1].probability / _SURE + 1e-9)
        return -step, way[0], way[1].coats, way[1].difference

    return min(ways, key=rank)[1]


def _answer(seen: _Seen, same: tuple[Ahead, ...], best: Ahead, goal: Array) -> Steering:
    plain = any(best is each for each in same)
    advice = "stop" if best.coats == 0 else "go on" if plain else "change"
    chance = f"within {MATCHED:g} of the target with a probability of {best.probability:.0%}"
    coats = f"{best.coats} more coat{'' if best.coats == 1 else 's'}"
    if advice == "stop":
        text = f"Stop here: {chance}, {best.difference:.1f} ΔE00 from it."
    elif advice == "go on":
        text = f"Go on with {coats} of this mix: {chance}."
    else:
        counted = " + ".join(f"{n} drops of {name}" for name, n in best.drops.items())
        text = f"Change the mix to {counted} in the batch, then {coats}: {chance}."
    cautions = _risks(seen, same, goal)
    return Steering(
        advice=advice,
        best=best,
        same=same,
        load=math.exp(seen.ln_load),
        load_spread=seen.spread,
        surprise=seen.surprise,
        text=text,
        cautions=cautions,
    )


def _risks(seen: _Seen, same: tuple[Ahead, ...], goal: Array) -> tuple[Caution, ...]:
    found = []
    now = same[0]
    if seen.done and now.too_dark > 0.5:
        text = (
            f"The part is darker than the target already (L* {now.lab[0]:.1f} against "
            f"{goal[0]:.1f}): too dark cannot be undone, and more dye only darkens."
        )
        found.append(Caution(key="too dark", text=text))
    elif len(same) > 1 and same[1].too_dark > RISKY:
        text = (
            f"One more coat of this mix ends too dark with a probability of "
            f"{same[1].too_dark:.0%}. Too dark cannot be undone: thin the mix first, or stop."
        )
        found.append(Caution(key="too dark", text=text))
    if seen.surprise > 2 * now.band.radius and seen.surprise > 5:
        text = (
            f"The part reads {seen.surprise:.0f} ΔE00 from what was expected of this mix: the "
            "right dye, the right drops, a dry part?"
        )
        found.append(Caution(key="unexpected", text=text))
    return tuple(found)
