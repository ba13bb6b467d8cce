"""A printed sheet as blocks, and its two forms: one self-contained HTML file, or plain text.

Everything a user typed is escaped. The HTML holds its drawings as SVG in millimetres and its
own page rules, so that printing it gives the PDF.
"""

from __future__ import annotations

import html
import re
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

from data.rules import check_kind, check_number, refuse

STYLE = """
@page { size: auto; margin: 12mm; }
* { box-sizing: border-box; }
body { font: 10pt/1.35 system-ui, sans-serif; color: #111; background: #fff; max-width: 188mm;
  margin: 8mm auto; padding: 0 4mm; }
h1 { font-size: 18pt; margin: 0 0 2mm; } h2 { font-size: 13pt; margin: 4mm 0 1.5mm;
  border-bottom: 1px solid #777; break-after: avoid; }
p { margin: 1mm 0; } ol, ul { margin: 1mm 0; padding-left: 6mm; }
table { border-collapse: collapse; width: 100%; margin: 1.5mm 0; break-inside: avoid;
  font-size: 9pt; }
caption { text-align: left; font-weight: 600; padding: .5mm 0; }
th, td { border: 1px solid #999; padding: .4mm 1.5mm; text-align: left; vertical-align: top; }
figure { margin: 1mm 0; break-inside: avoid; } svg { max-width: 100%; height: auto; }
.page { break-before: page; }
.box { display: inline-block; width: 3mm; height: 3mm; border: .3mm solid #333;
  margin-right: 1.5mm; vertical-align: -.3mm; }
.beside { display: flex; flex-wrap: wrap; gap: 0 4mm; } .beside > div { flex: 1 1 70mm; }
.caution { border: 2px solid #a33; padding: .5mm 2mm; margin: 1mm 0; break-inside: avoid; }
.colours { display: flex; flex-wrap: wrap; gap: 0; break-inside: avoid; }
.colour { width: 40mm; } .colour i { display: block; height: 18mm; forced-color-adjust: none;
  print-color-adjust: exact; -webkit-print-color-adjust: exact; }
.beside .colour { width: 30mm; } .beside .colour i { height: 12mm; }
.colour span { display: block; font-size: 9pt; padding: .5mm; }
@media print { section { zoom: var(--size, 1); }
  body { margin: 0; padding: 0; max-width: none; font-size: 9pt; line-height: 1.25; }
  h1 { font-size: 15pt; } h2 { font-size: 11.5pt; margin: 2mm 0 1mm; } table { font-size: 8pt; }
  .beside > div { flex: 1 1 0; min-width: min-content; } .beside svg { max-width: none; } }
""".strip()


@dataclass(frozen=True, kw_only=True)
class Words:
    """A paragraph."""

    text: str


@dataclass(frozen=True, kw_only=True)
class Listing:
    """A list, numbered if its order matters, with a box to tick before each where ``boxes``."""

    items: tuple[str, ...]
    ordered: bool = False
    boxes: bool = False


@dataclass(frozen=True, kw_only=True)
class Grid:
    """A table with a caption; every row begins with what it is about."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, kw_only=True)
class Drawing:
    """A drawing as SVG of our own making, and in words for those who cannot see it."""

    svg: str
    words: str


@dataclass(frozen=True, kw_only=True)
class Colours:
    """Squares of colour beside each other: (name, "#rrggbb", words)."""

    squares: tuple[tuple[str, str, str], ...]

    def __post_init__(self) -> None:
        check_kind("colours", self.squares, tuple, "squares of name, colour and words")
        for square in self.squares:
            texts = isinstance(square, tuple) and all(isinstance(each, str) for each in square)
            if not texts or len(square) != 3:
                raise refuse("colours", "squares of name, colour and words", square)
            if not re.fullmatch(r"#[0-9a-f]{6}", square[1]):
                raise refuse("colour", "like #9aa86b", square[1])


@dataclass(frozen=True, kw_only=True)
class Alert:
    """A caution that must stand out."""

    text: str


@dataclass(frozen=True, kw_only=True)
class Beside:
    """Groups of blocks that stand beside each other where there is space."""

    groups: tuple[tuple[Block, ...], ...]


Block: TypeAlias = Words | Listing | Grid | Drawing | Colours | Alert | Beside


@dataclass(frozen=True, kw_only=True)
class Part:
    """A titled part of a sheet; it begins a page where ``new_page`` says so.

    On paper it is printed at ``size`` of the usual, 0.5 to 1.
    """

    title: str
    blocks: tuple[Block, ...]
    new_page: bool = False
    size: float = 1.0

    def __post_init__(self) -> None:
        check_number("size of print", self.size, least=0.5, most=1.0)


def sheet_html(title: str, parts: Sequence[Part]) -> str:
    """Return the sheet as one HTML file without anything outside it."""
    check_kind("title", title, str, "a text")
    body = "".join(
        f"<section{' class=page' if part.new_page else ''}{_sized(part)}>"
        f"<h2>{html.escape(part.title)}</h2>"
        f"{''.join(map(_html, part.blocks))}</section>"
        for part in parts
    )
    return (
        f'<!doctype html><html lang="en"><head><meta charset="utf-8">'
        f'<meta name="viewport" content="width=device-width"><title>{html.escape(title)}</title>'
        f"<style>{STYLE}</style></head><body><main><h1>{html.escape(title)}</h1>{body}</main>"
        f"</body></html>\n"
    )


def _sized(part: Part) -> str:
    return "" if part.size == 1 else f' style="--size:{part.size:.3f}"'


def sheet_text(title: str, parts: Sequence[Part]) -> str:
    """Return the sheet as plain text."""
    check_kind("title", title, str, "a text")
    lines = [title, "=" * len(title)]
    for part in parts:
        lines += ["", part.title, "-" * len(part.title)]
        for block in part.blocks:
            lines += _text(block)
    return "\n".join(lines) + "\n"


def _html(block: Block) -> str:
    if isinstance(block, Words):
        return f"<p>{html.escape(block.text)}</p>"
    if isinstance(block, Beside):
        groups = "".join(f"<div>{''.join(map(_html, group))}</div>" for group in block.groups)
        return f'<div class="beside">{groups}</div>'
    if isinstance(block, Alert):
        return f'<p class="caution"><strong>Caution.</strong> {html.escape(block.text)}</p>'
    if isinstance(block, Listing):
        kind = "ol" if block.ordered else "ul"
        box = '<span class="box"></span>' if block.boxes else ""
        items = "".join(f"<li>{box}{html.escape(item)}</li>" for item in block.items)
        return f"<{kind}>{items}</{kind}>"
    if isinstance(block, Drawing):
        return f"<figure>{block.svg}</figure>"
    if isinstance(block, Colours):
        squares = "".join(
            f'<div class="colour"><i style="background:{colour}"></i>'
            f"<span>{html.escape(name)} {colour}<br>{html.escape(words)}</span></div>"
            for name, colour, words in block.squares
        )
        return f'<div class="colours">{squares}</div>'
    return _html_grid(block)


def _html_grid(grid: Grid) -> str:
    head = "".join(f'<th scope="col">{html.escape(cell)}</th>' for cell in grid.head)
    rows = "".join(
        f'<tr><th scope="row">{html.escape(first)}</th>'
        + "".join(f"<td>{html.escape(cell)}</td>" for cell in rest)
        + "</tr>"
        for first, *rest in grid.rows
    )
    return (
        f"<table><caption>{html.escape(grid.caption)}</caption><thead><tr>{head}</tr></thead>"
        f"<tbody>{rows}</tbody></table>"
    )


def _text(block: Block) -> list[str]:
    if isinstance(block, Words):
        return ["", *textwrap.wrap(block.text, 88)]
    if isinstance(block, Beside):
        return [line for group in block.groups for inner in group for line in _text(inner)]
    if isinstance(block, Alert):
        return ["", *textwrap.wrap(f"CAUTION: {block.text}", 88)]
    if isinstance(block, Listing):
        marks = [
            f"{number}." if block.ordered else "-" for number in range(1, 1 + len(block.items))
        ]
        pairs = zip(marks, block.items, strict=True)
        box = "[ ] " if block.boxes else ""
        return ["", *(f"{mark} {box}{item}" for mark, item in pairs)]
    if isinstance(block, Drawing):
        return ["", f"[drawing: {block.words}]"]
    if isinstance(block, Colours):
        return ["", *(f"{name}: {colour} {words}" for name, colour, words in block.squares)]
    return ["", block.caption, *(_text_row(block.head, row) for row in block.rows)]


def _text_row(head: tuple[str, ...], row: tuple[str, ...]) -> str:
    pairs = zip(head[1:], row[1:], strict=True)
    return f"- {row[0]}: " + "; ".join(f"{title} {cell}" for title, cell in pairs)
