"""The answer that stays in sight while fields are edited: its style, and its probability."""

from __future__ import annotations

_BLOCK = '[data-testid="stLayoutWrapper"]'
BAR_STYLE = """<style>
.bar { position: relative; height: .7rem; margin: .3rem 0 .15rem; border: 1px solid currentColor;
  border-radius: 3px; forced-color-adjust: none; }
.bar > span { position: absolute; inset: 0 auto 0 0; background: repeating-linear-gradient(
  135deg, #0b5cad 0 6px, #3f83c8 6px 9px); }
.bar > i { position: absolute; top: -4px; bottom: -4px; width: 0; border-left: 3px solid; }
</style>"""
"""The style that `bar` wants on its page once."""


def in_sight(left: str, answer: str) -> str:
    """Return the style that keeps an answer in sight, as HTML.

    ``left`` and ``answer`` are keys of containers: all of the left column stays while the rest
    scrolls, on a phone its answer alone. The colours are those of the page behind it, in the page
    library's two themes.
    """
    return f"""<style>
{_BLOCK}:has(> .st-key-{answer}) {{ background: light-dark(#ffffff, #171614); }}
@media (min-width: 641px) {{
  .stColumn:has(.st-key-{left}) > .stVerticalBlock {{ height: 100%; justify-content: start; }}
  {_BLOCK}:has(> .st-key-{left}) {{ position: sticky; top: 3.75rem; z-index: 2; }}
}}
@media (max-width: 640px) {{
  .stColumn:has(.st-key-{left}), .stColumn:has(.st-key-{left}) > .stVerticalBlock,
  {_BLOCK}:has(> .st-key-{left}), .st-key-{left} {{ display: contents !important; }}
  {_BLOCK}:has(> .st-key-{answer}) {{ position: sticky; top: 3.5rem; z-index: 2;
    width: 100%; padding-bottom: .3rem; border-bottom: 1px solid rgba(128, 128, 128, .6); }}
}}
</style>"""


def bar(probability: float, said: str, wanted: float | None = None) -> str:
    """Return a probability as a bar, the wanted one as a stroke; ``said`` is spoken, as HTML."""
    stroke = "" if wanted is None else f'<i style="left:{100 * wanted:.0f}%"></i>'
    return (
        f'<div class="bar" role="img" aria-label="{said}"><span style="width:'
        f'{100 * probability:.0f}%"></span>{stroke}</div>'
    )
