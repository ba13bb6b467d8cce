"""The bases and dyes that can be chosen: the demo's, those of the maker's bottles, those the log
knows, those a design brought.

What the log has learned takes the place of an estimate of the same name, also in a form that was
typed before it was learned.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from data.page.form import refused_at
from data.rules import check_kind, refuse
from tinting.forms.tint import DYE_ROWS, FIELDS, LIGHT_SETS, NO_DYE, OWN_BASE, plan_from_form
from tinting.learn.band import Band, estimate_band, predict_band
from tinting.learn.fit import DyeFit
from tinting.learn.learned import MARK, NOTHING, Learned
from tinting.log.bottles import Bottle
from tinting.log.record import folded
from tinting.mix.plan import TintPlan
from tinting.skin.demo import demo_base, demo_base_names, demo_dyes, is_demo
from tinting.skin.dyed import Tint
from tinting.skin.inputs import Base, Dye, Hand

BROUGHT = " (design)"
"""What the name of a base or dye ends with that came with a design and is not known here."""
_NAMED = ("base", *(f"dye{row}" for row in range(1, DYE_ROWS + 1)))


@dataclass(frozen=True, kw_only=True, eq=False)
class Choices:
    """What can be named in a form: ``learned`` from the log, ``bases`` and ``dyes`` from a design
    by name, the dyes of ``bottles``. ``hands`` are the maker's by what the dyes are known by, see
    `tinting.log.hand`, and that of a design by "design"."""

    learned: Learned = NOTHING
    bases: Mapping[str, Base] = field(default_factory=dict)
    dyes: Mapping[str, Dye] = field(default_factory=dict)
    hands: Mapping[str, Hand] = field(default_factory=dict)
    bottles: tuple[Bottle, ...] = ()

    def __post_init__(self) -> None:
        check_kind("learned", self.learned, Learned, "what `learn` returns")
        for name, kept, kind in (
            ("bases", self.bases, Base), ("dyes", self.dyes, Dye), ("hands", self.hands, Hand),
        ):  # fmt: skip
            check_kind(name, kept, Mapping, f"a mapping of name to {kind.__name__}")
            for value in kept.values():
                check_kind(f"each of the {name}", value, kind, f"a {kind.__name__}")
        check_kind("bottles", self.bottles, tuple, "a tuple of Bottle")
        for bottle in self.bottles:
            check_kind("each of the bottles", bottle, Bottle, "a Bottle")

    @property
    def base_names(self) -> tuple[str, ...]:
        """Names of all bases, those of the demo first, the one known by its colour last."""
        return (*_replaced(demo_base_names(), self.learned.bases), *self.bases, OWN_BASE)

    @property
    def dye_names(self) -> tuple[str, ...]:
        """Names of all dyes, none of them first."""
        return (NO_DYE, *(dye.name for dye in self.all_dyes("")))

    def offered(self, form: Mapping[str, str]) -> tuple[str, ...]:
        """Return the names of dyes to choose from: those owned, a design's, and a form's own."""
        check_kind("form", form, Mapping, "a mapping of fields")
        owned = {dye.name for dye in self.owned()}
        wanted = {NO_DYE, *self.dyes, *owned, *(form.get(key, NO_DYE) for key in _NAMED[1:])}
        return tuple(name for name in self.dye_names if not owned or name in wanted)

    def owned(self, base: str = "") -> tuple[Dye, ...]:
        """Return the dyes of the bottles that are ticked, with the strength they have on a base.

        A demo bottle counts only while no own one is known; nothing where nothing is ticked.
        """
        every = self.all_dyes(base)
        own = tuple(dye for dye in every if self._is_own(dye))
        demo = {bottle.name for bottle in self.bottles if bottle.owned and bottle.demo}
        return own or tuple(dye for dye in every if is_demo(dye) and dye.name in demo)

    def _is_own(self, dye: Dye) -> bool:
        """Say whether a dye is that of a ticked bottle which is no demo's."""
        name = folded(dye.name.removesuffix(MARK))
        learned = dye.name.endswith(MARK)
        return any(
            folded(bottle.name) == name and (learned or bottle.dye is dye)
            for bottle in self.bottles
            if bottle.owned and not bottle.demo
        )

    def all_dyes(self, base: str) -> tuple[Dye, ...]:
        """Return the dyes with the strength they have on the base of that name."""
        check_kind("base", base, str, "the name of a base")
        learned = {dye.name: dye for dye in self.learned.dyes(base)}
        estimates = {dye.name: dye for dye in demo_dyes()}
        for bottle in self.bottles:
            if bottle.dye is not None and not bottle.demo:
                estimates[bottle.name] = bottle.dye
        known = {**estimates, **learned, **self.dyes}
        return tuple(known[name] for name in (*_replaced(estimates, learned), *self.dyes))

    def shelf(self, plan: TintPlan) -> tuple[Dye, ...]:
        """Return the dyes to search recipes with: those of the bottles owned and a plan's.

        Where no bottle is ticked, those the log or a design knows, or else the demo's. A demo dye
        is among them only while there is no other.
        """
        check_kind("tint plan", plan, TintPlan, "a TintPlan")
        every = self.all_dyes(plan.base.name)
        owned = self.owned(plan.base.name)
        real = any(not is_demo(dye) for dye in owned)
        own = {dye.name for dye in owned} if real else set()
        own = own or {dye.name for dye in self.learned.dyes()} | set(self.dyes)
        if not own:
            return owned or every
        own |= {dye.name for dye, share in plan.mix if share > 0 and not is_demo(dye)}
        return tuple(dye for dye in every if dye.name in own)

    def known(self, form: Mapping[str, str]) -> dict[str, str]:
        """Return the form with what is learned now in place of estimates, and the other way
        round where the log no longer knows it; names that nobody knows stay."""
        check_kind("form", form, Mapping, "a mapping of fields")
        names = dict.fromkeys(_NAMED, self.dye_names) | {"base": self.base_names}
        return {
            key: _known(text, names[key]) if key in names else text for key, text in form.items()
        }

    def plan(self, form: Mapping[str, str], name: str = "tint") -> TintPlan:
        """Return the tint that a form asks for, see `tinting.forms.tint.plan_from_form`.

        Raises
        ------
        RefusedFieldsError
            With every field that cannot be used.
        """
        check_kind("form", form, Mapping, "a mapping of fields")
        named = [form.get(key, NO_DYE) for key in _NAMED[1:]]
        for key, dye in zip(_NAMED[1:], named, strict=True):
            if dye != NO_DYE and named.index(dye) < int(key[-1]) - 1:
                raise refused_at(FIELDS, refuse("dye", "named once", dye), key)
        chosen = form.get("base", "")
        own = {**self.learned.bases, **self.bases}.get(chosen)
        asked = form if own is None else {**form, "base": demo_base_names()[0]}
        plan = plan_from_form(asked, self.all_dyes(chosen), name)
        base = plan.base if own is None else own
        return dataclasses.replace(plan, base=base, hand=self._hand(plan))

    def _hand(self, plan: TintPlan) -> Hand | None:
        """The hand that was measured against the dyes of a plan, or else that of a design."""
        learned = all(dye.name.endswith(MARK) for dye, share in plan.mix if share > 0)
        return self.hands.get("log" if learned else "estimates", self.hands.get("design"))

    def band(self, plan: TintPlan) -> float:
        """Return the radius of the 80 % band around a plan's prediction, ΔE00. [dE]

        Wider on a base without a swatch in the log, and for estimates; 0 without any dye.
        """
        check_kind("tint plan", plan, TintPlan, "a TintPlan")
        return self.band_of(plan.result())

    def band_of(self, dyed: Tint, error: float = 0.0) -> float:
        """Return the same for a tint, to be compared with a reading of an ``error``. [dE]"""
        band = self.likely(dyed, error)
        return 0.0 if band is None else band.radius

    def likely(self, dyed: Tint, error: float = 0.0) -> Band | None:
        """Return the band around a tint, read with an ``error`` [dE]; None without any dye."""
        check_kind("dyed", dyed, Tint, "a Tint")
        shares = {dye.name.removesuffix(MARK): share for dye, share in dyed.mix if share > 0}
        if not shares:
            return None
        fit = self.fit_of([dye for dye, share in dyed.mix if share > 0])
        if fit is None:
            return estimate_band(dyed, error=error)
        known = dyed.base.name in self.learned.bases
        base = dyed.base.name.removesuffix(MARK) if known else dyed.base
        return predict_band(fit, shares, dyed.coats, base=base, error=error, hand=dyed.hand)

    def fit_of(self, dyes: Sequence[Dye]) -> DyeFit | None:
        """Return the fit that knows all of some dyes, None where they are not all learned."""
        fit = self.learned.fits[0] if self.learned.fits else None
        marked = all(dye.name.endswith(MARK) for dye in dyes)
        names = {dye.name.removesuffix(MARK) for dye in dyes}
        return fit if fit is not None and marked and names <= fit.dyes.keys() else None


def choices_for(plan: TintPlan, choices: Choices) -> tuple[Choices, dict[str, str]]:
    """Return choices that hold what a plan names, and the form that asks for the plan.

    Raises
    ------
    ValueError
        For more dyes than a form has rows.
    """
    check_kind("tint plan", plan, TintPlan, "a TintPlan")
    check_kind("choices", choices, Choices, "Choices")
    if len(plan.mix) > DYE_ROWS:
        raise refuse("dyes", f"at most {DYE_ROWS} to be edited here", len(plan.mix))
    bases, dyes = dict(choices.bases), dict(choices.dyes)
    form = {"base": _base_name(plan.base, choices, bases)}
    known = {dye.name: dye for dye in choices.all_dyes(form["base"])}
    shares = [share for _, share in plan.mix if share > 0]
    least, rest = min(shares, default=1.0), max(1 - sum(shares), 0.0)
    for row in range(1, DYE_ROWS + 1):
        form |= {f"dye{row}": NO_DYE, f"parts{row}": "1"}
    for row, (dye, share) in enumerate(plan.mix, start=1):
        name = dye.name
        if name not in known or not _same_dye(dye, known[name]):
            name = _brought(name)
            dyes[name] = dataclasses.replace(dye, name=name)
        form |= {f"dye{row}": name, f"parts{row}": f"{share / least:.10g}"}
    sets = [words for words, lights in LIGHT_SETS.items() if lights == plan.lights]
    form |= {
        "alcohol": f"{rest / least:.10g}",
        "coats": str(plan.coats),
        "target": " ".join(f"{value:.10g}" for value in plan.target),
        "lights": sets[0] if sets else next(iter(LIGHT_SETS)),
        "batch": f"{plan.batch_volume * 1e6:.10g}",
        "drop": f"{plan.drop_volume * 1e6:.10g}",
        "room": f"{plan.room_volume:.10g}",
        "area": f"{plan.area * 1e4:.10g}",
    }
    hands = {name: hand for name, hand in choices.hands.items() if name != "design"}
    hands |= {} if plan.hand is None else {"design": plan.hand}
    return dataclasses.replace(choices, bases=bases, dyes=dyes, hands=hands), form


def _base_name(base: Base, choices: Choices, bases: dict[str, Base]) -> str:
    known = dict(choices.learned.bases) | {name: demo_base(name) for name in demo_base_names()}
    if base.name in known and base.name in choices.base_names:
        here = known[base.name]
        if _alike([*base.reflectance, base.scattering_thickness],
                  [*here.reflectance, here.scattering_thickness]):  # fmt: skip
            return base.name
    name = _brought(base.name)
    bases[name] = dataclasses.replace(base, name=name)
    return name


def _same_dye(dye: Dye, other: Dye) -> bool:
    changes = [each.absorptivity_change for each in (dye, other)]
    same = _alike(dye.absorptivity, other.absorptivity)
    if changes[0] is None or changes[1] is None:
        return same and changes[0] is changes[1]
    return same and _alike(*changes)


def _alike(first: object, second: object) -> bool:
    return np.allclose(np.asarray(first), np.asarray(second), rtol=1e-9, atol=1e-12)


def _brought(name: str) -> str:
    return f"{name.removesuffix(BROUGHT)[:70]}{BROUGHT}"


def _replaced(
    demo: Sequence[str] | Mapping[str, object], learned: Mapping[str, object]
) -> list[str]:
    """Names of the demo, each learned one in the place of its estimate, the others behind."""
    names = [f"{name}{MARK}" if f"{name}{MARK}" in learned else name for name in demo]
    return [*names, *(name for name in learned if name not in names)]


def _known(name: str, options: Sequence[str]) -> str:
    plain = name.removesuffix(MARK)
    for same in (name, f"{plain}{MARK}", plain):
        if same in options:
            return same
    return name
