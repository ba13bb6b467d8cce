"""Limbs to start from, each as a small picture with a button under it."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import streamlit as st

from flexcalc.forms.limb_form import BLANK, DEFAULTS, PRESETS, plan_from_form

WIDTH = 132
STARTS: dict[str, dict[str, str]] = {"Straight limb": BLANK, **PRESETS}


def show_starts(key: str, on_chosen: Callable[[dict[str, str]], None]) -> bool:
    """Show the limbs to start from; return whether one was chosen just now.

    ``key`` begins the keys of the buttons; ``on_chosen`` gets the form of the limb chosen.
    """
    chosen = False
    with st.container(horizontal=True, horizontal_alignment="left", gap="small"):
        for name, changes in STARTS.items():
            with st.container(width=WIDTH, gap="small"):
                st.markdown(_picture(name), unsafe_allow_html=True)
                chosen |= st.button(
                    name,
                    key=f"{key}_{name}",
                    width="stretch",
                    on_click=on_chosen,
                    args=({**DEFAULTS, **changes},),
                )
    return chosen


@cache
def _picture(name: str) -> str:
    from flexcalc.paper.pictures.board import silhouette

    plan = plan_from_form({**DEFAULTS, **STARTS[name]}, name)
    return f'<div style="height:92px">{silhouette(plan.limb, plan.setting)}</div>'
