"""How tall a limb's parts stand on paper, and how small they are printed so that two pages do.

Heights are guessed from the number of letters, as a browser sets them 186 mm wide; the sheets of
the browser tests show that the guess is good enough for A4 and letter.
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Sequence
from dataclasses import replace

from data.sheet import Alert, Beside, Block, Drawing, Grid, Listing, Part, Words

PAGE = 246.0
"""What a page of letter paper holds between its margins, less what a guess may be off. [mm]"""
LINE, ROW, HEAD, GAP = 4.0, 3.6, 7.2, 1.3
"""Height of a line of text and of a table, of a heading, and between two blocks. [mm]"""
LETTERS, NARROW = 108, 48
"""Letters of a line across the page, and across a column beside pictures."""
SMALLEST = 0.72
SHRINKS = 1.4
"""Power of the size of print by which a page loses height: text has shorter lines and fewer of
them, pictures are smaller."""


def on_two_pages(
    first: Sequence[Part], either: Sequence[Part], second: Sequence[Part]
) -> tuple[Part, ...]:
    """Return a limb's parts, those of the ``first`` page, then of the ``second``, in the size of
    print that each needs.

    Each part that may stand on ``either`` is put so that as little as can be has to shrink.
    """
    best: tuple[float, list[Part]] = (0.0, [])
    for which in itertools.product((True, False), repeat=len(either)):
        early = [part for part, here in zip(either, which, strict=True) if here]
        late = [part for part, here in zip(either, which, strict=True) if not here]
        pages = ([*first, *early], [*second, *late])
        sizes = [_size(page) for page in pages]
        if min(sizes) > best[0]:
            pairs = zip(pages, sizes, strict=True)
            best = (min(sizes), [part for pair in pairs for part in _printed(*pair)])
    return tuple(best[1])


def _printed(page: Sequence[Part], size: float) -> list[Part]:
    small = max(size, SMALLEST)
    return [part if _has_card(part) else replace(part, size=small) for part in page]


def _size(page: Sequence[Part]) -> float:
    """Return the size of print of all of a page but the card: 1, or smaller if it would not do."""
    fixed = sum(_part_height(part) for part in page if _has_card(part))
    other = sum(_part_height(part) for part in page if not _has_card(part))
    if other <= PAGE - fixed:
        return 1.0
    return float((max(PAGE - fixed, 1.0) / other) ** (1 / SHRINKS))


def _has_card(part: Part) -> bool:
    """Tell whether a part holds the card at 1:1, which keeps its size."""
    return any(isinstance(one, Drawing) and 'class="square"' in one.svg for one in part.blocks)


def _part_height(part: Part) -> float:
    heading = HEAD if len(part.title) < 0.85 * LETTERS else 1.7 * HEAD
    return heading + sum(_height(block, LETTERS) for block in part.blocks)


def _height(block: Block, letters: int) -> float:
    if isinstance(block, Words):
        return LINE * _lines(block.text, letters) + GAP
    if isinstance(block, Alert):
        return LINE * _lines(f"Caution. {block.text}", letters) + 2 * GAP
    if isinstance(block, Listing):
        return LINE * sum(_lines(item, letters - 4) for item in block.items) + GAP
    if isinstance(block, Grid):
        return LINE + GAP + sum(_row_height(row, letters) for row in (block.head, *block.rows))
    if isinstance(block, Drawing):
        found = re.search(r'<svg[^>]* height="([\d.]+)mm"', block.svg)
        return (float(found[1]) if found else 0.0) + 2 * GAP
    if isinstance(block, Beside):
        return max(sum(_height(one, NARROW) for one in group) for group in block.groups)
    return 0.0


def _row_height(row: Sequence[str], letters: int) -> float:
    """Return the height of a row whose widest cell has what the others leave. [mm]"""
    longest = max(map(len, row))
    rest = sum(min(len(cell), 14) for cell in row) - min(longest, 14) + 4 * len(row)
    room = max(1.12 * letters - rest, 12)
    return ROW * max(math.ceil(longest / room), 1) + 1.1


def _lines(text: str, letters: int) -> int:
    return max(math.ceil(len(text) / letters), 1)
