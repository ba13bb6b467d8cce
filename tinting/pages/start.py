"""How the tint stands, for the page to start on."""

from __future__ import annotations

from data.page.steps import Step, typing_step
from data.store.folder import StoreError
from tinting.pages.tint import tint_fields

ENOUGH = 3
"""Swatches of a dye after which its prediction has half the error of an estimate."""


def tint_steps() -> list[Step]:
    """Return how the tint that is typed and the log of swatches stand."""
    fields = tint_fields()
    demo = (
        "Reed green over off-white TPU (invented) is there to try: see the colour under seven "
        "lights, and find the mix, the coats and the drops for the colour you want."
    )
    return [
        typing_step("Tint", "Plan the tint", demo, typed=fields.form() != fields.defaults),
        _logging_step(),
    ]


def _logging_step() -> Step:
    from tinting.log.swatches import count_swatches

    title = "Paint swatches and log them"
    try:
        used = count_swatches().used
    except StoreError as error:
        return Step(page="Swatch log", title=title, standing=f"Your log: {error}", done=False)
    logged = "No swatch is logged yet." if used == 0 else f"Logged for fits: {used}."
    more = f" A dye known by one swatch is an estimate; {ENOUGH} show how it builds up."
    return Step(
        page="Swatch log",
        title=title,
        standing=logged + ("" if used >= ENOUGH else more),
        done=used >= ENOUGH,
    )
