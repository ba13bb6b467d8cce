"""How a tint is worked out: formula, numbers, sources and limits."""

from __future__ import annotations

import streamlit as st

from tinting.layer import EXTERNAL_REFLECTION, INTERNAL_REFLECTION
from tinting.mixing import millilitres, mix_in_parts
from tinting.page_show import plain_text, show_table
from tinting.plan import TintPlan
from tinting.report import BASIS
from tinting.uptake import skin_absorption

FORMULA = r"""
The part keeps its own colour, and a dyed skin takes some of the light: dye only darkens. In each
of 36 bands from 380 to 730 nm:

| Step | Formula |
| --- | --- |
| reading of the bare part → under its surface | $r = \frac{R_m-k_s}{(1-k_1)(1-k_2)+k_2(R_m-k_s)}$ |
| absorption against scattering of the part | $q_0 = (1-r)^2/2r$ |
| load of dye $j$: share $\varphi_j$, $n$ coats | $x_j = \varphi_j\,(1-(1-\rho_j)^n)/\rho_j$ |
| uptake, all dyes sharing the room | $u_j = x_j/(1+\sum_k x_k/x_{s,k})$ |
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


def show_working(plan: TintPlan) -> None:
    """Show the formula, its numbers for this tint, sources and limits."""
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
        taken = skin_absorption(shares, plan.coats, names)
        st.markdown(
            f"The skin's absorption D runs from {float(taken.min()):.3f} to "
            f"{float(taken.max()):.3f} over the bands. The batch of "
            f"{millilitres(plan.batch_volume)} is {plain_text(mix_in_parts(plan))}."
        )
    st.markdown(LIMITS)
    st.markdown("\n".join(f"- {line}" for line in BASIS))
