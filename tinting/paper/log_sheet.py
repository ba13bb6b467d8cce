"""The swatch log as one HTML file to read or print: a table with a square of each colour.

The file stands alone: no script, no link, no picture from elsewhere. Everything that a user
wrote is escaped.
"""

from __future__ import annotations

import base64
from collections.abc import Iterable, Iterator, Mapping, Sequence
from html import escape

import numpy as np

from data.rules import check_kind, refuse
from data.store.folder import Place
from tinting.colour.colorimetry import delta_e
from tinting.colour.spectrum import hex_from_lab
from tinting.log.pictures import photo_folder, photo_names
from tinting.log.record import SwatchRecord, checked_records
from tinting.log.swatches import list_swatches, log_path, read_photo
from tinting.photo.picture import picture_jpeg, read_picture

_HEADINGS = (
    "Base", "Tint", "Made", "Base part", "Mix", "Coats", "Dried", "CIELAB", "From base", "Read",
    "Note",
)  # fmt: skip
_STYLE = """
body { font: 15px/1.4 system-ui, sans-serif; margin: 1.5rem; color: #111; background: #fff; }
table { border-collapse: collapse; width: 100%; }
th, td { border-bottom: 1px solid #767676; padding: .3rem .5rem; text-align: left;
  vertical-align: top; }
td.note { white-space: pre-wrap; overflow-wrap: anywhere; }
.colour { display: inline-block; width: 3.2rem; height: 2.4rem; border: 1px solid #767676;
  forced-color-adjust: none; print-color-adjust: exact; -webkit-print-color-adjust: exact; }
img { display: block; max-width: 10rem; margin-top: .3rem; }
tr { break-inside: avoid; }
@page { margin: 12mm; }
@media print { body { font-size: 9pt; margin: 0; } }
"""


def log_html(records: Iterable[SwatchRecord], photos: Mapping[str, bytes] | None = None) -> str:
    """Return rows of the log as one HTML document.

    Parameters
    ----------
    records : iterable of SwatchRecord
        In the order in which they are to stand.
    photos : mapping of str to bytes, optional
        JPEG files by the name in the rows; put into the document as they are.

    Notes
    -----
    A square is as `tinting.colour.spectrum.srgb_from_lab` shows its CIELAB: close for the eye,
    not a measure.
    """
    if photos is not None and not isinstance(photos, Mapping):
        raise refuse("photos", "a mapping of name to content", type(photos).__name__)
    rows = checked_records(records)
    head = "".join(f'<th scope="col">{heading}</th>' for heading in _HEADINGS)
    body = "\n".join(_row(*shown, photos or {}) for shown in _shown(rows))
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>Swatch log</title>\n<style>{_STYLE}</style></head>\n<body>\n"
        f"<h1>Swatch log</h1>\n<p>Rows: {len(rows)}. Squares are as near as a screen or printer "
        f"comes; the numbers count.</p>\n<table>\n<thead><tr>{head}</tr></thead>\n"
        f"<tbody>\n{body}\n</tbody>\n</table>\n</body></html>\n"
    )


def export_html(*, pictures: bool = True, path: Place = None) -> bytes:
    """Return the whole log as one HTML file, with small copies of its pictures if asked."""
    check_kind("pictures", pictures, bool, "true or false")
    records = list_swatches(path=path).records
    photos: dict[str, bytes] = {}
    if pictures:
        here = set(photo_names(photo_folder(log_path(path))))
        for name in {record.photo for record in records} & here:
            picture = read_picture(read_photo(name, path=path))
            photos[name] = picture_jpeg(picture, longest_side=320)
    return log_html(records, photos).encode("utf-8")


def _shown(
    rows: Sequence[SwatchRecord],
) -> Iterator[tuple[SwatchRecord, tuple[str, str], float]]:
    """Each row with the colours of its base and its tint and the ΔE00 between them, in one go."""
    if not rows:
        return
    labs = np.array([(row.base_lab, row.lab) for row in rows])
    differences = delta_e(labs[:, 0], labs[:, 1])
    for row, difference in zip(rows, differences, strict=True):
        base, dyed = (hex_from_lab(lab, row.light, row.observer) for lab in (row.base_lab, row.lab))
        yield row, (base, dyed), float(difference)


def _row(
    record: SwatchRecord,
    colours: tuple[str, str],
    difference: float,
    photos: Mapping[str, bytes],
) -> str:
    mix = "<br>".join(
        f"{escape(name)} {100 * share:.4g} %" for name, share in record.shares.items()
    )
    part = f"{escape(record.base_name)} ({record.base_kind})<br>{1000 * record.thickness:.3g} mm"
    place = f"{record.light}, {record.observer}°, {escape(record.geometry)}"
    cells = (
        _square(colours[0], f"base {record.base_name}"),
        _square(colours[1], "tint"),
        record.made_at.strftime("%Y-%m-%d %H:%M UTC"),
        f"{part}, backing {record.backing}",
        f"{mix or 'no dye'}<br>in alcohol {100 * record.alcohol_grade:.3g} %",
        str(record.coats),
        f"{record.drying_time / 60:.4g} min",
        "{:.1f}, {:.1f}, {:.1f}".format(*record.lab),
        f"ΔE00 {difference:.1f}",
        f"{record.method} (±{record.error:g})<br>{place}<br>"
        f"{'used in fits' if record.used else 'left out of fits'}",
    )
    note = escape(record.note) + _picture(record, photos)
    return f'<tr><td>{"</td><td>".join(cells)}</td><td class="note">{note}</td></tr>'


def _square(colour: str, label: str) -> str:
    title = escape(f"{label} {colour}", quote=True)
    style = f"background:{colour}"
    return f'<span class="colour" role="img" aria-label="{title}" style="{style}"></span>'


def _picture(record: SwatchRecord, photos: Mapping[str, bytes]) -> str:
    if record.photo not in photos:
        return ""
    data = base64.b64encode(photos[record.photo]).decode("ascii")
    text = escape(f"photo of {record.base_name}", quote=True)
    return f'<img alt="{text}" src="data:image/jpeg;base64,{data}">'
