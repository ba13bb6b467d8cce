"""Small labelled sketches beside the fields: what each of them measures."""

from __future__ import annotations

import streamlit as st

LINE = 'fill="none" stroke="currentColor" stroke-width="1.5"'
THIN = 'fill="none" stroke="currentColor" stroke-width="1" stroke-dasharray="3 2"'
BODY = 'fill="currentColor" fill-opacity="0.14" stroke="currentColor" stroke-width="1.5"'
WORDS = 'font-size="11" font-family="sans-serif" fill="currentColor"'
SKETCHES = {
    "limb": (
        "A limb cut across: outside, wall, infill, sleeve around the channel, flat side below.",
        f'<path {BODY} d="M62 96 A42 42 0 1 1 118 96 Z"/>'
        f'<path {THIN} d="M70 89 A32 32 0 1 1 110 89 Z"/>'
        f'<circle {LINE} cx="90" cy="64" r="13"/><circle {LINE} cx="90" cy="64" r="7"/>'
        f'<path {LINE} d="M122 42 L148 30 M103 66 L148 62 M112 84 L148 92 M90 96 L90 110"/>'
        f'<text {WORDS} x="152" y="33">wall</text><text {WORDS} x="152" y="66">sleeve</text>'
        f'<text {WORDS} x="152" y="96">infill</text><text {WORDS} x="96" y="114">flat</text>',
    ),
    "channel": (
        "The channel in the limb: wire inside, sleeve of solid filament around it.",
        f'<rect {BODY} x="14" y="40" width="170" height="44"/>'
        f'<rect {THIN} x="14" y="50" width="170" height="24"/>'
        f'<rect {LINE} x="14" y="56" width="170" height="12"/>'
        f'<path stroke="currentColor" stroke-width="6" d="M4 62 H198"/>'
        f'<path {LINE} d="M60 54 L72 26 M120 58 L132 26 M160 62 L176 100"/>'
        f'<text {WORDS} x="46" y="22">sleeve</text><text {WORDS} x="118" y="22">channel</text>'
        f'<text {WORDS} x="166" y="112">wire</text>',
    ),
    "pose": (
        "A bend: where it starts from the clamp on, its angle and its radius.",
        f'<path {LINE} stroke-width="3" d="M20 40 V104"/>'
        f'<path {BODY} d="M20 80 H84 A40 40 0 0 0 124 40 V14 H112 V40 A28 28 0 0 1 84 68 H20 Z"/>'
        f'<path {THIN} d="M84 34 V74 M84 34 H118"/>'
        f'<path {LINE} d="M20 98 H84 M24 94 L20 98 L24 102 M80 94 L84 98 L80 102"/>'
        f'<text {WORDS} x="36" y="114">start</text><text {WORDS} x="88" y="58">radius</text>'
        f'<text {WORDS} x="136" y="40">angle</text><text {WORDS} x="2" y="32">clamp</text>',
    ),
}


def show_sketch(name: str) -> None:
    """Show one of the sketches."""
    said, drawn = SKETCHES[name]
    st.markdown(
        f'<svg role="img" aria-label="{said}" viewBox="0 0 210 120" '
        f'style="max-width:15rem;width:100%">{drawn}</svg>',
        unsafe_allow_html=True,
    )
