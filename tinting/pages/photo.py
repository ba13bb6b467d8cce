"""Measure colours in a photo: tap the parts on it, look at them enlarged, take them."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np
import streamlit as st

from data.page.fields import PageFields
from data.page.form import (
    Field,
    Fields,
    RefusedFieldsError,
    fields_by_key,
    number,
    refused_at,
)
from data.page.pointing import Boxed, Label, Pointed, Tapped, show_picture
from data.page.show import plain_text, show_cautions, show_table, square
from data.rules import refuse
from tinting.colour.spectrum import hex_from_lab
from tinting.paper.report import lab_words
from tinting.photo.picture import Picture, picture_jpeg, read_picture
from tinting.photo.regions import Points, corners_from_text, region_from_text

MOST_MB = 16
KINDS = ["jpg", "jpeg", "png", "webp"]
SHOWN_SIDE = 1000
"""Longest side of the copy that is pointed at. [pixel]"""
TAPPED = 0.03
"""Side of the square that a tap marks, as a share of the photo's shorter side."""
LEAST_TAPPED = 12.0
ENLARGED = 110
WHOLE_STRIP, MIDDLE_OF_PATCH = 1.8, 0.5
"""A box so many times as long as wide is the whole strip; so much of each patch counts."""
ADD = "Add this swatch to the log"
CHART, CARD = "chart corners", "card"
STRIP_COATS = "0, 1, 2, 3, 5"
HOW = (
    "Lay the bare part, the dyed part and a 24-patch chart (or a white or grey card) side by side "
    "on even paper in soft daylight, no flash, in one photo. Then **tap each on the photo**."
)


class Mark(NamedTuple):
    """Something that can be pointed at: what it is called, and the field its place goes into."""

    name: str
    key: str
    place: int = 0


def photo_fields(first: str, second: str) -> Fields:
    """Return the fields for the marks, for what is measured first and second."""
    box = "left top right bottom"
    return fields_by_key(
        [
            Field(key="photobase", label=f"{first}: {box}", unit="pixels"),
            Field(key="photoswatch", label=f"{second}: {box}", unit="pixels"),
            Field(key="photostrip", unit="pixels; one ; between patches",
                  label=f"Patches of a strip: {box}"),
            Field(key="photocoats", label="Coats of each patch of the strip, 0 for bare",
                  default=STRIP_COATS),
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
def _picture(_content: bytes, key: str) -> tuple[Picture, bytes]:
    picture = read_picture(_content)
    return picture, picture_jpeg(picture, SHOWN_SIDE)


def ask_photo(
    fields: PageFields,
    first: str,
    second: str,
    take: Callable[[Any, bytes], None],
    button: str,
    take_strip: Callable[[Any, bytes], None] | None = None,
    add: Callable[[Any, bytes], None] | None = None,
) -> None:
    """Ask for a photo and what is what on it, and measure.

    ``take`` gets the reading and the file when the button named ``button`` is pressed;
    ``take_strip``, where it is given, the reading of a whole strip, and ``add`` that of a swatch
    which goes into the log at once.
    """
    st.markdown(HOW)
    uploaded = st.file_uploader(
        f"Photo (JPEG, PNG or WebP, at most {MOST_MB} MB)",
        type=KINDS,
        key=f"{fields.prefix}photo",
        max_upload_size=MOST_MB,
    )
    strip = take_strip is not None and bool(
        st.toggle("A whole strip: bare and several coats", key=f"{fields.prefix}strip",
                  persist_state="session")
    )  # fmt: skip
    above = st.container()
    with st.expander("Type the places instead"):
        for key in (
            *(("photocoats", "photostrip") if strip else ("photobase", "photoswatch")),
            "photocard",
            "photocorners",
            "photolevel",
        ):
            fields.text(key)
    with above:
        if uploaded is None:
            st.markdown("No photo yet. Place and date in the file are dropped.")
            return
        content = uploaded.getvalue()
        try:
            picture, shown = _picture(content, hashlib.sha256(content).hexdigest())
        except ValueError as error:
            st.error(plain_text(str(error)))
            return
        marks = _read_marks(fields, strip)
        coats = _strip_coats(fields) if strip else ()
        points = _marks_to_set(first, second, coats)
        _point(fields, picture, shown, points, marks)
        if _is_complete(points, marks):
            _enlarge(picture, points, marks)
            if strip and take_strip is not None:
                _measure_strip(fields, picture, marks, coats, lambda r: take_strip(r, content))
            else:
                buttons = {button: lambda r: take(r, content)}
                if add is not None:
                    buttons = {ADD: lambda r: add(r, content), **buttons}
                _measure(fields, picture, marks, (first, second), buttons)
        else:
            st.info("Mark every part, and the card or the chart, to measure.")


def _strip_coats(fields: PageFields) -> tuple[int, ...]:
    """Return the coats that are typed for a strip, none where they cannot be read."""
    text = fields.form()["photocoats"]
    parts = text.replace(",", " ").replace(";", " ").split()
    try:
        found = tuple(int(part) for part in parts)
        if not 2 <= len(found) <= 24 or 0 not in found or not all(0 <= n <= 50 for n in found):
            raise refuse("coats of the strip", "numbers like 0, 1, 2, 3, 5 with a 0 for bare", text)
    except ValueError:
        said = f"Coats of the strip: write {STRIP_COATS}."
        fields.show_refusals(RefusedFieldsError({"photocoats": said}))
        return ()
    return found


def _marks_to_set(first: str, second: str, coats: Sequence[int]) -> list[Mark]:
    if coats:
        named = [
            "bare" if n == 0 else f"{n} coat{'s' * (n > 1)}"
            for n in coats
        ]  # fmt: skip
        parts = [Mark(f"{i}: {name}", "photostrip", i - 1) for i, name in enumerate(named, 1)]
    else:
        parts = [Mark(first, "photobase"), Mark(second, "photoswatch")]
    return [*parts, Mark(CHART, "photocorners"), Mark(CARD, "photocard")]


def _point(
    fields: PageFields, picture: Picture, shown: bytes, points: list[Mark],
    marks: Mapping[str, Points],
) -> None:  # fmt: skip
    """Show the photo to tap; what is tapped goes into the field of the mark that is chosen."""
    chosen, advance = f"{fields.prefix}pointing_at", f"{fields.prefix}pointed"
    names = [mark.name for mark in points]
    if st.session_state.get(chosen) not in names or st.session_state.pop(advance, False):
        st.session_state[chosen] = _next_name(points, marks, st.session_state.get(chosen))
    name = st.radio("What do you tap?", names, key=chosen, horizontal=True)
    scale = min(1.0, SHOWN_SIDE / max(picture.width, picture.height))
    size = (max(1.0, picture.width * scale), max(1.0, picture.height * scale))
    corners = [
        (x * scale, y * scale) for x, y in st.session_state.get(f"{fields.prefix}corners", ())
    ]

    def pointed(at: Pointed) -> None:
        mark = next(each for each in points if each.name == name)
        text = _field_text(fields, picture, mark, at, scale)
        if text is not None:
            fields.put({**fields.form(), mark.key: text})
            st.session_state[advance] = True

    show_picture(
        f"{fields.prefix}photo_tap",
        shown,
        *size,
        name="The photo: tap a part, or draw a box on it",
        on_pointed=pointed,
        labels=[*_labels(points, marks, scale), *(Label(x=x, y=y) for x, y in corners)],
        taps=True,
        draws_boxes=True,
        loupe=True,
        most_height="70vh",
    )
    if name == CHART:
        st.markdown(
            "Tap two outer corners of the chart that lie opposite each other, or draw a box round "
            "it; a tap on a marked chart moves its nearest corner. Where two are not enough, go on "
            f"to all four: {len(corners)} tapped."
        )
    elif name == points[0].name and points[0].key == "photostrip":
        st.markdown("Tap this patch, or draw one box round the whole strip.")


def _next_name(points: list[Mark], marks: Mapping[str, Points], now: str | None) -> str:
    """Return the first thing that is not marked yet; of card and chart one is enough."""
    for mark in points:
        by_other = mark.key == "photocard" and "photocorners" in marks
        if mark.key == "photocorners" and "photocard" in marks:
            continue
        if not by_other and not _is_marked(mark, marks):
            return mark.name
    return now if now in [mark.name for mark in points] else points[0].name


def _is_marked(mark: Mark, marks: Mapping[str, Points]) -> bool:
    return len(marks.get(mark.key, ())) >= 2 * mark.place + 2


def _is_complete(points: list[Mark], marks: Mapping[str, Points]) -> bool:
    parts = [mark for mark in points if mark.key not in ("photocard", "photocorners")]
    by = marks.keys() & {"photocard", "photocorners"}
    return bool(by) and all(_is_marked(mark, marks) for mark in parts)


def _field_text(
    fields: PageFields, picture: Picture, mark: Mark, at: Pointed, scale: float
) -> str | None:
    """Return the text of a mark's field after something was pointed at, None while unfinished."""
    if not isinstance(at, Tapped | Boxed):
        return None
    if mark.key == "photocorners":
        return _corner_text(fields, picture, at, scale)
    box = _box_of(picture, at, scale)
    if mark.key != "photostrip":
        return _box_text(box)
    known = [part.strip() for part in fields.form()["photostrip"].split(";") if part.strip()]
    if isinstance(at, Boxed) and not known and _is_long(box):
        return "; ".join(_box_text(each) for each in _parts_of(box, len(_strip_coats(fields))))
    known[mark.place : mark.place + 1] = [_box_text(box)]
    return "; ".join(known)


def _box_text(box: Sequence[float]) -> str:
    return " ".join(f"{value:.0f}" for value in box)


def _is_long(box: Sequence[float]) -> bool:
    wide, high = box[2] - box[0], box[3] - box[1]
    return max(wide, high) >= WHOLE_STRIP * min(wide, high)


def _parts_of(box: Sequence[float], count: int) -> list[tuple[float, ...]]:
    """The middles of the patches of a strip, from left to right or from the top down."""
    low, high = np.array(box[:2]), np.array(box[2:])
    along = int(high[1] - low[1] > high[0] - low[0])
    found = []
    for place in range(max(count, 1)):
        first, last = low.copy(), high.copy()
        first[along] += (high - low)[along] * place / count
        last[along] = first[along] + (high - low)[along] / count
        rim = (last - first) * (1 - MIDDLE_OF_PATCH) / 2
        found.append(tuple((*(first + rim), *(last - rim))))
    return found


def _box_of(picture: Picture, at: Tapped | Boxed, scale: float) -> tuple[float, ...]:
    """Return the rectangle that was drawn, or a square round the place tapped, in the photo."""
    if isinstance(at, Boxed):
        return tuple(each / scale for each in (at.x0, at.y0, at.x1, at.y1))
    half = max(TAPPED * min(picture.width, picture.height), LEAST_TAPPED) / 2
    x = min(max(at.x / scale, half), max(picture.width - half, half))
    y = min(max(at.y / scale, half), max(picture.height - half, half))
    return x - half, y - half, x + half, y + half


def _corner_text(
    fields: PageFields, picture: Picture, at: Tapped | Boxed, scale: float
) -> str | None:
    """Return the corners of the chart after a box or a tap, None while some are missing."""
    kept = f"{fields.prefix}corners"
    if isinstance(at, Boxed):
        st.session_state.pop(kept, None)
        places = [(at.x0, at.y0), (at.x1, at.y0), (at.x1, at.y1), (at.x0, at.y1)]
        return _corners_words([(x / scale, y / scale) for x, y in places])
    tapped = (at.x / scale, at.y / scale)
    try:
        marked = corners_from_text(fields.form()["photocorners"])
    except ValueError:
        marked = ()
    if marked:
        away = [float(np.hypot(x - tapped[0], y - tapped[1])) for x, y in marked]
        nearest = away.index(min(away))
        return _corners_words([tapped if k == nearest else c for k, c in enumerate(marked)])
    places = [*st.session_state.get(kept, ()), tapped]
    if len(places) == 2:
        from tinting.photo.corners import corners_from_two

        try:
            return _corners_words(corners_from_two(picture, *places).tolist())
        except ValueError:
            pass  # the chart is turned too far: its other two corners are asked for
    if len(places) < 4:
        st.session_state[kept] = tuple(places)
        return None
    st.session_state.pop(kept, None)
    return _corners_words(places)


def _corners_words(places: Iterable[Sequence[float]]) -> str:
    return ", ".join(f"{x:.0f} {y:.0f}" for x, y in places)


def _labels(points: list[Mark], marks: Mapping[str, Points], scale: float) -> list[Label]:
    found = []
    for mark in points:
        if not _is_marked(mark, marks):
            continue
        if mark.key == "photocorners":
            found += [Label(x=x * scale, y=y * scale) for x, y in marks[mark.key]]
            continue
        (x0, y0), (x1, y1) = marks[mark.key][2 * mark.place : 2 * mark.place + 2]
        found.append(
            Label(x=x0 * scale, y=y0 * scale, x1=x1 * scale, y1=y1 * scale, text=mark.name)
        )
    return found


def _enlarge(picture: Picture, points: list[Mark], marks: Mapping[str, Points]) -> None:
    """Show every marked part enlarged, so that an edge or a shine in it is seen."""
    parts = [
        (mark, marks[mark.key][2 * mark.place : 2 * mark.place + 2])
        for mark in points
        if mark.key != "photocorners" and _is_marked(mark, marks)
    ]
    with st.container(horizontal=True, horizontal_alignment="left"):
        for mark, ((x0, y0), (x1, y1)) in parts:
            inside = picture.pixels[int(y0) : int(y1) + 1, int(x0) : int(x1) + 1]
            if inside.size:
                st.image(inside, width=ENLARGED, caption=mark.name, alt=f"{mark.name}, enlarged")


def _read_marks(fields: PageFields, strip: bool) -> dict[str, Points]:
    """Return the marks that can be read, each refusal below its field."""
    form, marks = fields.form(), {}
    parts = ("photostrip",) if strip else ("photobase", "photoswatch")
    for key in (*parts, "photocard", "photocorners"):
        if not form[key].strip():
            continue
        try:
            if key == "photocorners":
                marks[key] = corners_from_text(form[key])
            else:
                boxes = form[key].split(";") if key == "photostrip" else [form[key]]
                found = [region_from_text(each) for each in boxes[:24] if each.strip()]
                marks[key] = tuple(
                    corner for box in found for corner in ((box[0], box[1]), (box[2], box[3]))
                )
        except ValueError as error:
            fields.show_refusals(refused_at(fields.fields, error, key))
    return marks


def _measure(
    fields: PageFields,
    picture: Picture,
    marks: Mapping[str, Points],
    names: tuple[str, str],
    buttons: Mapping[str, Callable[[Any], None]],
) -> None:
    from tinting.photo.reading import measure_swatch

    boxes = {key: (*p[0], *p[1]) for key, p in marks.items() if key != "photocorners"}
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
    _show_reading(reading, names, (reading.base_lab, reading.swatch_lab))
    for button, take in buttons.items():
        key = "add_photo" if button == ADD else "take_photo"
        st.button(button, key=f"{fields.prefix}{key}", on_click=take, args=(reading,))


def _measure_strip(
    fields: PageFields,
    picture: Picture,
    marks: Mapping[str, Points],
    coats: Sequence[int],
    take: Callable[[Any], None],
) -> None:
    from tinting.photo.strip import read_strip

    corners = marks["photostrip"]
    boxes = [(*corners[i], *corners[i + 1]) for i in range(0, 2 * len(coats), 2)]
    card = marks.get("photocard")
    try:
        reading = read_strip(
            picture,
            boxes,
            coats,
            (*card[0], *card[1]) if card else None,
            marks.get("photocorners"),
            card_reflectance=_level(fields.form()["photolevel"], "card reflectance"),
        )
    except ValueError as error:
        st.error(f"This photo cannot be measured so: {plain_text(str(error))}")
        return
    names = ["bare" if n == 0 else f"{n} coat{'s' * (n > 1)}" for n in reading.coats]
    _show_reading(reading, names, list(reading.labs))
    dyed = sum(1 for n in reading.coats if n)
    st.button(
        f"Add {dyed} swatches of this strip to the log",
        key=f"{fields.prefix}take_strip",
        on_click=take,
        args=(reading,),
    )


def _show_reading(reading: Any, names: Sequence[str], labs: Sequence[Any]) -> None:
    rows = [
        (name, square(hex_from_lab(tuple(lab)), name), lab_words(lab), f"{scatter:.1f}")
        for name, lab, scatter in zip(names, labs, reading.scatter, strict=True)
    ]
    show_table(
        ("Part", "", "L*a*b* (D65, 10°)", "Scatter inside, ΔE00"),
        rows,
        f"Measured by {reading.method}",
    )
    st.markdown(
        f"Each may be off by {reading.error:.0f} ΔE00. Light over the picture: "
        f"{reading.light_unevenness:.0%} uneven, evened out."
    )
    show_cautions(reading.cautions)
