"""Work a tint out and show it, the colours first."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import streamlit as st

from data.page.fields import PageFields
from data.page.form import FormReader, RefusedFieldsError
from data.page.show import file_stem, plain_text, show_cautions, show_table
from data.rules import Caution
from tinting.colour.colorimetry import light_words
from tinting.forms.choices import Choices
from tinting.forms.painted import PAINTED
from tinting.forms.tint import light_of
from tinting.learn.band import Band
from tinting.learn.learned import MARK
from tinting.mix.appearance import Look, under_lights
from tinting.mix.instructions import millilitres, mix_in_parts, mixing
from tinting.mix.ladder import tint_ladder
from tinting.mix.plan import TintPlan
from tinting.pages.colours import show_ladder
from tinting.pages.learned import show_learned
from tinting.pages.mix import show_jar, show_mixing, show_retouch, show_steering
from tinting.pages.recipes import show_recipes
from tinting.paper.report import BASIS, bench_card, lab_words
from tinting.recipe.result import Recipes
from tinting.skin.demo import demo_cautions, is_demo
from tinting.skin.inputs import Dye, check_hand
from tinting.skin.layer import EXTERNAL_REFLECTION, INTERNAL_REFLECTION
from tinting.skin.uptake import skin_absorption

FORMULA = r"""
The part keeps its own colour, and a dyed skin takes some of the light: dye only darkens. In each
of 36 bands from 380 to 730 nm:

| Step | Formula |
| --- | --- |
| reading of the bare part → under its surface | $r = \frac{R_m-k_s}{(1-k_1)(1-k_2)+k_2(R_m-k_s)}$ |
| absorption against scattering of the part | $q_0 = (1-r)^2/2r$ |
| load of dye $j$: share $\varphi_j$, $n$ coats | $x_j = \varphi_j\,(1-(1-\rho_j)^n)/\rho_j$ |
| uptake, all dyes sharing the space | $u_j = x_j/(1+\sum_k x_k/x_{s,k})$ |
| absorption of the skin | $D = \sum_j u_j\,d_j$ |
| dyed layer of scattering thickness $\tau$ | $a = 1+q_0+D/\tau,\ b=\sqrt{a^2-1},\ c=\coth b\tau$ |
| reflection under the surface | $R = \frac{1-r(a-bc)}{a-r+bc}$ |
| reading of the tint | $R_m = k_s+\frac{(1-k_1)(1-k_2)R}{1-k_2R}$ |

Sources: P. Kubelka (1948) for the layer, J. L. Saunderson (1942) for the surface, ASTM E308 for the
colour, G. Sharma, W. Wu and E. N. Dalal (2005) for ΔE00.
"""
LIMITS = """
**Limits.** No physical sample stands behind these accuracies: they come from computed worlds of
the same family, richer than the model, so real parts will be worse. There, median and 95 % of
cases in ΔE00: a dye known by one swatch 1.8 and 6, by three 1.3 and 3.5, by six 0.9 and 2.4;
mixtures of two or three dyes 2.1 and 6. Plain averaging of screen colours gives 5.0 and 32 with
one swatch. The wrong answer to “translucent or opaque?” costs 2.5 to 9.5. A dye that fluoresces
breaks the model and is refused. A drop 20 % larger or smaller is worth 1.3 to 1.6.
"""


def show_answers(
    fields: PageFields, plan: TintPlan, choices: Choices, target: Look | None, band: Band | None
) -> None:
    """Show everything else that is known about a tint, below its colours.

    ``target`` is None where it cannot be shown; ``band`` is that around the tint, None undyed.
    """
    light = light_of(fields.form()["light"])
    show_cautions((*_dye_cautions(plan), *_strange_base(plan, choices)))
    fits = choices.learned.fits
    dyes, fit = choices.shelf(plan), fits[0] if fits else None
    recipes = None
    if target is not None:
        st.markdown("## Recipes for the target")
        recipes = show_recipes(fields, plan, dyes, target, fit)
    st.markdown("## How to mix it")
    _show_bench(fields, plan, band, choices)
    with st.expander("After a coat, retouch, the jar"):
        st.markdown("### After a coat")
        show_steering(fields, plan, dyes, fit)
        st.markdown("### Retouch")
        show_retouch(fields, plan)
        st.markdown("### Left in the jar: stronger, weaker, stood open")
        show_jar(fields, plan)
    st.markdown("## Dilutions and coats")
    _show_ladder(plan, light)
    folds: list[tuple[str, str, Callable[[], None]]] = [
        ("known", "What my dyes reach, how well they are known",
         lambda: _show_known(plan, choices, dyes, recipes)),
        ("working", "How this is worked out", lambda: _show_working(plan)),
    ]  # fmt: skip
    for key, title, show in folds:
        fold = st.expander(title, key=f"tint_fold_{key}", on_change="rerun")
        if fold.open:
            with fold:
                show()


def _dye_cautions(plan: TintPlan) -> tuple[Caution, ...]:
    """What to keep in mind of a tint; that a dye is a guess goes without saying of the demo's."""
    used = [dye for dye, share in plan.mix if share > 0]
    guessed = [dye for dye in used if dye.covariance is None]
    told = plan.result().cautions
    if guessed and all(is_demo(dye) for dye in guessed):
        told = tuple(each for each in told if each.key != "estimate")
    return (*demo_cautions(used), *told)


def _show_known(
    plan: TintPlan, choices: Choices, dyes: tuple[Dye, ...], recipes: Recipes | None
) -> None:
    """Ask what to see of the dyes and show it: only that is worked out."""
    from tinting.pages import curves
    from tinting.pages.reach import show_map

    show_cautions(choices.learned.cautions)
    views: dict[str, Callable[[], None]] = {
        "colours in reach": lambda: show_map(plan, choices, dyes, recipes),
        "dilution of one dye": lambda: curves.show_dilution(plan, choices),
        "predicted against measured": lambda: curves.show_left_out(choices.learned),
        "doubt against swatches": lambda: curves.show_growth(plan, choices.learned),
        "drift while drying": lambda: curves.show_drift(choices.learned),
        "swatches, and the next to paint": lambda: show_learned(choices.learned),
    }
    views[st.selectbox("Show", tuple(views), key="tint_graph", persist_state="session")]()


def _show_lights(plan: TintPlan) -> None:
    try:
        rows = under_lights(plan)
    except ValueError as error:
        st.error(f"No real surface has the target's colour ({plain_text(str(error))}).")
        return
    show_table(
        ("Light", "Base", "Tint", "Target", "ΔE00", "± estimate"),
        [
            (
                f"{light_words(row.light)} ({row.light})",
                lab_words(row.base.lab),
                lab_words(row.tint.lab),
                lab_words(row.target.lab),
                f"{row.difference:.1f}",
                f"{row.spread:.1f}",
            )
            for row in rows
        ],
        "CIELAB for the 10° observer, each against the white of its light",
    )
    st.markdown(
        "The target is known by one colour, so under other lights than D65 it is taken to "
        "have the smoothest spectrum of that colour: an estimate."
    )


def _strange_base(plan: TintPlan, choices: Choices) -> tuple[Caution, ...]:
    learned = [dye.name for dye, _ in plan.mix if dye.name.endswith(MARK)]
    if not learned or plan.base.name in choices.learned.bases:
        return ()
    text = (
        f"{', '.join(learned)} was learned on another base, so the band here is a guess's. A base "
        "of another kind takes dye in its own way: one swatch on it mends that."
    )
    return (Caution(key="strange base", text=text),)


def _show_ladder(plan: TintPlan, light: str) -> None:
    try:
        ladder = tint_ladder(plan, light)
    except ValueError:
        st.info("Choose a dye with some parts of it to see its ladder.")
        return
    show_ladder(ladder, [f"1:{1 / row.share - 1:.3g}" for row in ladder.rows])


def _show_bench(fields: PageFields, plan: TintPlan, band: Band | None, choices: Choices) -> None:
    try:
        mixed = mixing(plan)
        card = bench_card(
            plan,
            band=band,
            light=light_of(fields.form()["light"]),
            limb=_limb_name(fields),
            bottles=choices.bottles,
            made_on=date.today(),
        )
    except ValueError as error:
        st.error(f"This batch cannot be mixed: {plain_text(str(error))}. See “Batch to mix”.")
        return
    show_mixing(fields, plan, mixed)
    st.download_button(
        "Bench card to print",
        card,
        file_name=f"{file_stem(plan.name, 'tint')} bench card.html",
        mime="text/html",
        key="tint_card",
        on_click="ignore",
    )


def _limb_name(fields: PageFields) -> str:
    """Return the name of the limb as it is typed, none after saying what is refused."""
    try:
        return str(FormReader(fields.form(), PAINTED).values(("limb",))["limb"])
    except RefusedFieldsError as refused:
        fields.show_refusals(refused)
        return ""


def _show_working(plan: TintPlan) -> None:
    """Show the numbers in every light, the formula and its own, sources and limits."""
    _show_lights(plan)
    st.markdown(FORMULA)
    base = plan.base
    rows = [
        ("k₁, k₂", f"{EXTERNAL_REFLECTION:g}, {INTERNAL_REFLECTION:g}", "surface of the plastic"),
        ("kₛ", f"{base.specular:g}", "gloss in the reading of the base"),
        ("τ", f"{base.scattering_thickness:.3g}", f"skin of a base that is {base.kind}"),
        ("n", str(plan.coats), "coats"),
    ]
    for dye, share in plan.mix:
        known = "one colour alone" if dye.covariance is None else "swatches of the log"
        rows.append(
            (
                dye.name,
                f"φ {share:.4g}, ρ {dye.coat_loss:.3g}, xₛ {dye.saturation:.3g}",
                f"share, loss of a further coat, saturation; known by {known}",
            )
        )
    show_table(("Symbol", "Value", "What it is"), rows, "Numbers behind this tint")
    if plan.mix and plan.coats:
        names, shares = [dye for dye, _ in plan.mix], [share for _, share in plan.mix]
        taken = skin_absorption(shares, plan.coats, names, hand=check_hand(plan.hand))
        st.markdown(
            f"The skin's absorption D runs from {float(taken.min()):.3f} to "
            f"{float(taken.max()):.3f} over the bands. The batch of "
            f"{millilitres(plan.batch_volume)} is {plain_text(mix_in_parts(plan))}."
        )
    st.markdown(LIMITS)
    st.markdown("\n".join(f"- {line}" for line in BASIS))
