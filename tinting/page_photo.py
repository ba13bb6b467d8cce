"""Measure two colours in a photo: mark them, look at the marks, measure."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from typing import Any

import streamlit as st

from data.page.fields import Fields
from data.rules import refuse
from tinting.marked import Points, corners_from_text, marked_picture, region_from_text
from tinting.page_show import plain_text, show_cautions, show_table, square
from tinting.picture import Picture, read_picture
from tinting.report import lab_words
from tinting.screen import hex_from_lab

DEFAULTS = {
    "photobase": "",
    "photoswatch": "",
    "photocard": "",
    "photocorners": "",
    "photolevel": "",
}
MOST_MB = 16
KINDS = ["jpg", "jpeg", "png", "webp"]
_REGIONS = ("photobase", "photoswatch", "photocard")
HOW = (
    "Lay the bare part, the dyed part and a 24-patch chart (or at least a white or grey card) side "
    "by side on even paper in soft daylight, no flash, and take one photo of all. Mark each as "
    "**left top right bottom** in pixels, read off the ruler along the edges of the picture."
)


def photo_labels(first: str, second: str) -> dict[str, str]:
    """Return the labels of the marks, for what is measured first and second."""
    return {
        "photobase": f"{first}: left top right bottom (pixels)",
        "photoswatch": f"{second}: left top right bottom (pixels)",
        "photocard": "White or grey card: left top right bottom (pixels)",
        "photocorners": "or the corners of a 24-patch chart: x y, x y, x y, x y (pixels)",
        "photolevel": "Reflectance of the card (%, empty: guess white or grey)",
    }


@st.cache_resource(max_entries=4, show_spinner=False)
def _picture(_content: bytes, key: str) -> Picture:
    return read_picture(_content)


def ask_photo(
    fields: Fields, first: str, second: str, take: Callable[[Any, bytes], None], button: str
) -> None:
    """Ask for a photo and its marks, and measure.

    ``take`` gets the reading and the file when the button named ``button`` is pressed.
    """
    st.markdown(HOW)
    uploaded = st.file_uploader(
        f"Photo (JPEG, PNG or WebP, at most {MOST_MB} MB)",
        type=KINDS,
        key=f"{fields.prefix}photo",
        max_upload_size=MOST_MB,
    )
    for key in DEFAULTS:
        fields.text(key)
    if uploaded is None:
        st.markdown("No photo yet. Place and date in the file are dropped.")
        return
    content = uploaded.getvalue()
    try:
        picture = _picture(content, hashlib.sha256(content).hexdigest())
    except ValueError as error:
        st.error(plain_text(str(error)))
        return
    marks = _read_marks(fields)
    named = {"photobase": first, "photoswatch": second, "photocard": "card"}
    st.image(
        marked_picture(picture, {named.get(key, "chart"): marks[key] for key in marks}),
        alt="The photo, with the marks as outlines and a ruler of pixels along two edges",
    )
    st.markdown(f"{picture.width} × {picture.height} pixels, with the marks.")
    if {"photobase", "photoswatch"} <= marks.keys() and marks.keys() & {
        "photocard",
        "photocorners",
    }:
        _measure(fields, picture, marks, (first, second), lambda r: take(r, content), button)
    else:
        st.info("Mark both parts, and the card or the chart, to measure.")


def _read_marks(fields: Fields) -> dict[str, Points]:
    """Return the marks that can be read, each refusal below its field."""
    form, marks = fields.form(), {}
    for key in (*_REGIONS, "photocorners"):
        if not form[key].strip():
            continue
        try:
            if key == "photocorners":
                marks[key] = corners_from_text(form[key])
            else:
                left, top, right, bottom = region_from_text(form[key])
                marks[key] = ((left, top), (right, bottom))
        except ValueError as error:
            fields.slots[key].error(plain_text(str(error)))
    return marks


def _measure(
    fields: Fields,
    picture: Picture,
    marks: dict[str, Points],
    names: tuple[str, str],
    take: Callable[[Any], None],
    button: str,
) -> None:
    from tinting.photo import measure_swatch

    boxes = {key: (*points[0], *points[1]) for key, points in marks.items() if key in _REGIONS}
    try:
        reading = measure_swatch(
            picture,
            boxes["photobase"],
            boxes["photoswatch"],
            boxes.get("photocard"),
            marks.get("photocorners"),
            card_reflectance=_level(fields.form()["photolevel"]),
        )
    except ValueError as error:
        st.error(f"This photo cannot be measured so: {plain_text(str(error))}")
        return
    rows = [
        (name, square(hex_from_lab(tuple(lab)), name), lab_words(lab))
        for name, lab in zip(names, (reading.base_lab, reading.swatch_lab), strict=True)
    ]
    show_table(("Part", "", "L*a*b* (D65, 10°)"), rows, f"Measured by {reading.method}")
    st.markdown(
        f"Each may be off by {reading.error:.0f} ΔE. Light over the picture: "
        f"{reading.light_unevenness:.0%} uneven, evened out."
    )
    show_cautions(reading.cautions)
    st.button(button, key=f"{fields.prefix}take_photo", on_click=take, args=(reading,))


def _level(text: str) -> float | None:
    from tinting.form import read_number

    if not text.strip():
        return None
    share = read_number("card reflectance", text) / 100
    if not 0.02 <= share <= 1:
        raise refuse("card reflectance", "from 2 to 100 %", text)
    return share
