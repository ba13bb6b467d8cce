"""Point at a picture: drag its handles, tap it, draw a box on it, or do the same with keys.

`show_picture` draws a picture and hands what was done on it to a function, before the page is
drawn anew. The script and the style are files of this folder; nothing of a user's goes into them.
"""

from __future__ import annotations

from data.page.pointing.show import (
    Boxed,
    Handle,
    Joint,
    Label,
    Line,
    LineBend,
    Moved,
    Pointed,
    Removed,
    Tapped,
    show_picture,
)

__all__ = [
    "Boxed",
    "Handle",
    "Joint",
    "Label",
    "Line",
    "LineBend",
    "Moved",
    "Pointed",
    "Removed",
    "Tapped",
    "show_picture",
]
