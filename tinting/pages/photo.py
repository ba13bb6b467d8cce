"""Measure two colours in a photo: mark them, look at the marks, measure."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from typing import Any

import streamlit as st

from data.page.fields import PageFields
from data.page.form import Field, Fields, fields_by_key, number
from data.page.show import plain_text, show_cautions, show_table, square
from tinting.colour.spectrum import hex_from_lab
from tinting.paper.report import lab_words
from tinting.photo.picture import Picture, read_picture
from tinting.photo.preview import Points, corners_from_text, marked_picture, region_from_text

MOST_MB = 16
KINDS = ["jpg", "jpeg", "png", "webp"]
_REGIONS = ("photobase", "photoswatch", "photocard")
HOW = (
    "Lay the bare part, the dyed part and a 24-patch chart (or at least a white or grey card) side "
    "by side on even paper in soft daylight, no flash, and take one photo of all. Mark each as "
    "**left top right bottom** in pixels, read off the ruler along the edges of the picture."
)


def photo_fields(first: str, second: str) -> Fields:
    """Return the fields for the marks, for what is measured first and second."""
    box = "left top right bottom"
    return fields_by_key(
        [
            Field(key="photobase", label=f"{first}: {box}", unit="pixels"),
            Field(key="photoswatch", label=f"{second}: {box}", unit="pixels"),
            Field(key="photocard", label=f"White or grey card: {box}", unit="pixels"),
            Field(key="photocorners", unit="pixels",
                  label="or the corners of a 24-patch chart: x y, x y, x y, x y"),
            Field(key="photolevel", label="Reflectance of the card",
                  unit="%, empty: guess white or grey", read=_level,
                  becomes=("card reflectance",)),
        ]
    )  # fmt: skip


def _level(text: str, name: str) -> float | None:
    return number(least=2.0, most=100.0, per=100.0)(text, name) if text.strip() else None


@st.cache_resource(max_entries=4, show_spinner=False)
def _picture(_content: bytes, key: str) -> Picture:
    return read_picture(_content)


def ask_photo(
    fields: PageFields, first: str, second: str, take: Callable[[Any, bytes], None], button: str
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
    for key in (*_REGIONS, "photocorners", "photolevel"):
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


def _read_marks(fields: PageFields) -> dict[str, Points]:
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
    fields: PageFields,
    picture: Picture,
    marks: dict[str, Points],
    names: tuple[str, str],
    take: Callable[[Any], None],
    button: str,
) -> None:
    from tinting.photo.reading import measure_swatch

    boxes = {key: (*points[0], *points[1]) for key, points in marks.items() if key in _REGIONS}
    try:
        reading = measure_swatch(
            picture,
            boxes["photobase"],
            boxes["photoswatch"],
            boxes.get("photocard"),
            marks.get("photocorners"),
            card_reflectance=_level(fields.form()["photolevel"], "card reflectance"),
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
