"""What is printed: hands on a tint's part of the build sheet, its bench card, the log as a page."""

from tinting.paper.log_sheet import export_html, log_html
from tinting.paper.report import (
    bench_card,
    tint_for_area,
    tint_parts,
    tint_retouch,
    tint_volumes,
    tint_words,
)

__all__ = [
    "bench_card",
    "export_html",
    "log_html",
    "tint_for_area",
    "tint_parts",
    "tint_retouch",
    "tint_volumes",
    "tint_words",
]
