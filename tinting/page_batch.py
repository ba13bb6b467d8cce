"""The questions about the batch: how much, how large a drop, which surface and which room."""

from __future__ import annotations

import streamlit as st

from data.page.fields import Fields
from data.page.form import RefusedFieldsError
from tinting import jar


def ask_batch(fields: Fields, limb_area: float) -> None:
    """Ask for the batch, the drop, the surface and the room; ``limb_area`` [m2] is on offer."""
    fields.text("batch")
    fields.text("drop")
    with st.expander("Calibrate the drop: count and weigh"):
        st.markdown("Drip alcohol with the dropper you will use on a 0.01 g scale.")
        fields.text("counted")
        fields.text("weighed")
        try:
            volume = f"{jar.drop_from_form(fields.form()) * 1e6:.4g}"
        except RefusedFieldsError as refused:
            fields.show_refusals(refused)
        else:
            st.button(
                f"Use {volume} mL as the drop",
                key="tint_use_drop",
                on_click=fields.put,
                args=({"drop": volume},),
            )
    fields.text("area")
    if limb_area > 0:
        st.button(
            f"Use the limb's surface, {limb_area * 1e4:.1f} cm²",
            key="tint_use_area",
            on_click=fields.put,
            args=({"area": f"{limb_area * 1e4:.4g}"},),
        )
    fields.text("room")
