"""How the tint stands, for the page to start on."""

from __future__ import annotations

from data.page.steps import Step, typing_step
from data.store.folder import StoreError
from tinting.pages.tint import tint_fields

ENOUGH = 3
"""Swatches of a dye after which its prediction has half the error of an estimate."""
INVENTED = "Invented for the demo"
"""How the note of a row of the demo begins."""


def tint_steps() -> list[Step]:
    """Return how the tint that is typed and the log of swatches stand."""
    fields = tint_fields()
    demo = (
        "Reed green over off-white TPU (invented) is there to try: see the colour under seven "
        "lights, and find the mix, the coats and the drops for the colour you want."
    )
    return [
        _owning_step(),
        typing_step("Tint", "Plan the tint", demo, typed=fields.form() != fields.defaults),
        _logging_step(),
    ]


def _owning_step() -> Step:
    from tinting.log.bottles import list_bottles

    title = "Put your bottles of dye on the shelf"
    try:
        own = [each.name for each in list_bottles().bottles if each.owned and not each.demo]
    except StoreError as error:
        return Step(page="Bottles", title=title, standing=f"Your folder: {error}", done=False)
    standing = (
        "The dyes on offer are invented until you name your own: one blot of a dye on paper is "
        "enough to begin with."
    )
    if own:
        standing = f"On your shelf: {', '.join(own)[:300]}. Recipes are made of these alone."
    return Step(page="Bottles", title=title, standing=standing, done=bool(own))


def _logging_step() -> Step:
    from tinting.log.swatches import list_swatches

    title = "Paint swatches and log them"
    try:
        rows = list_swatches(used=True).records
        used = sum(not row.note.startswith(INVENTED) for row in rows)
    except StoreError as error:
        return Step(page="Swatch log", title=title, standing=f"Your log: {error}", done=False)
    logged = "No swatch is logged yet." if used == 0 else f"Logged for fits: {used}."
    more = f" A dye known by one swatch is an estimate; {ENOUGH} show how it builds up."
    return Step(
        page="Swatch log",
        title=title,
        standing=logged + ("" if used >= ENOUGH else more),
        done=used > 0,
    )
