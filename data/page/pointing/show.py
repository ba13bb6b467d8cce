"""A picture to point at: what goes to the browser, and what comes back from it, checked."""

from __future__ import annotations

import base64
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from importlib.resources import files
from typing import Any, TypeAlias

import streamlit as st

from data.rules import check_choice, check_number, check_text, refuse

SHAPES = ("circle", "square", "lozenge", "drop")
LINE_VALUES = ("direction", "payload", "start", "angle", "radius", "swing")
Joint: TypeAlias = tuple[float, float, float]
"""Its length [mm], and by how much it turns up and to the left. [rad]"""
SIGNATURES = {b"\x89PNG\r\n\x1a\n": "png", b"\xff\xd8\xff": "jpeg"}
MOST_COUNT = 2**53
HELP = (
    "Arrow keys change it by a step, with Shift by ten; Page up and Page down by ten; Home and End "
    "go to the ends; Escape lets go."
)


@dataclass(frozen=True, kw_only=True)
class Handle:
    """Something on a picture that is dragged, or moved by the arrow keys while it has the focus.

    ``key`` names it in what comes back, ``name`` is spoken, ``sign`` (a letter or two) stands in
    its ``shape``: "circle", "square", "lozenge" or "drop". It is one of three:

    - with a ``value`` and a ``track``, places (x, y) of evenly spaced values from ``low`` to
      ``high``: it slides along the track;
    - with a ``value`` and ``of``, a value of the `Line` and the number of its bend: it stands where
      that value can be pulled at, and the line follows it;
    - without a ``value``: it stands at ``x``, ``y`` and is moved anywhere.

    ``step`` is what an arrow key changes and what values are rounded to, ``unit`` is spoken after
    the value, of which it is ``per``. Where it ``removes``, the Delete key on it is told too.
    Places are in the units of the picture.
    """

    key: str
    name: str
    sign: str = ""
    shape: str = "circle"
    value: float | None = None
    low: float = 0.0
    high: float = 0.0
    step: float = 1.0
    unit: str = ""
    per: float = 1.0
    track: tuple[tuple[float, float], ...] | None = None
    of: tuple[str, int] | None = None
    x: float = 0.0
    y: float = 0.0
    removes: bool = False

    def __post_init__(self) -> None:
        check_text("handle key", self.key, 80)
        check_text("handle name", self.name, 200)
        check_text("handle sign", self.sign, 3, empty=True)
        check_choice("handle shape", self.shape, SHAPES)
        check_number("handle step", self.step, above=0.0)
        check_number("handle per", self.per, above=0.0)
        for name in ("low", "high", "x", "y"):
            check_number(f"handle {name}", getattr(self, name), least=-1e9, most=1e9)
        if self.value is None:
            return
        check_number("handle value", self.value, least=self.low, most=self.high)
        if (self.track is None) == (self.of is None):
            raise refuse("handle with a value", "on a track or of the line", "both or neither")
        if self.track is not None and len(self.track) < 2:
            raise refuse("handle track", "two places or more", len(self.track))
        if self.of is not None:
            check_choice("handle of", self.of[0], LINE_VALUES)


@dataclass(frozen=True, kw_only=True)
class LineBend:
    """A bend of a `Line` as it is typed: ``start`` and ``radius`` [mm], ``angle`` and ``swing``
    [degrees].

    ``joints`` are how it is made at these values, beginning so far ``before`` the middle of its
    arc [mm]; none for a bend that is an arc. While a handle moves they grow and turn with it.
    """

    start: float
    angle: float
    radius: float
    swing: float = 0.0
    before: float = 0.0
    joints: tuple[Joint, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Line:
    """A limb as the script draws it while a handle moves, in space.

    ``x``, ``y`` is its clamp seen from the side, ``above`` the same seen from above, None where
    the picture does not show that, and ``per`` the units of the picture for a millimetre;
    ``direction`` [degrees from hanging], ``length``, ``thickness`` and ``width`` [mm], ``payload``
    [g] as it is typed; ``curve`` the joints of the whole limb without its ``bends``, none of a
    straight one.
    """

    x: float
    y: float
    per: float
    direction: float
    length: float
    thickness: float
    width: float
    above: tuple[float, float] | None = None
    payload: float = 0.0
    curve: tuple[Joint, ...] = ()
    bends: tuple[LineBend, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Label:
    """A place (``x1``, ``y1`` left out) or a box on a picture, with a word beside it.

    A place is marked by a ``dot``, if wanted.
    """

    x: float
    y: float
    x1: float | None = None
    y1: float | None = None
    text: str = ""
    dot: bool = True


@dataclass(frozen=True, kw_only=True)
class Moved:
    """A handle was moved: ``value`` of one that has a value, ``x``, ``y`` of another."""

    key: str
    value: float = 0.0
    x: float = 0.0
    y: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Removed:
    """The Delete key was pressed on a handle."""

    key: str


@dataclass(frozen=True, kw_only=True)
class Tapped:
    """A place was tapped; ``along`` is how far along the line that is, where one lies. [mm]"""

    x: float
    y: float
    along: float | None = None


@dataclass(frozen=True, kw_only=True)
class Boxed:
    """A box was drawn, from its upper left corner to its lower right one."""

    x0: float
    y0: float
    x1: float
    y1: float


Pointed: TypeAlias = Moved | Removed | Tapped | Boxed


def show_picture(
    key: str,
    picture: str | bytes,
    width: float,
    height: float,
    *,
    name: str,
    on_pointed: Callable[[Pointed], object],
    handles: Sequence[Handle] = (),
    line: Line | None = None,
    labels: Iterable[Label] = (),
    taps: bool = False,
    draws_boxes: bool = False,
    loupe: bool = False,
    most_height: str = "",
    waits_in: str = "",
) -> None:
    """Show a picture that can be pointed at.

    Parameters
    ----------
    key : str
        Of the session state, one for each picture of a page.
    picture : str or bytes
        SVG that the program made itself, every text in it escaped; or a PNG or JPEG, best no
        larger than it is shown, since it is sent whole.
    width, height : float
        Its size in the units in which places are said: those of the SVG's viewBox, or pixels.
    name : str
        What it shows, for those who do not see it.
    on_pointed : callable
        Gets what was done, a `Moved`, `Removed`, `Tapped` or `Boxed`, before the page is drawn
        anew; it may fill fields.
    handles : sequence of Handle
        What can be dragged.
    line : Line, optional
        What the script draws while a handle of it moves; a tap on it is told.
    labels : iterable of Label
        Places and boxes shown on it.
    taps, draws_boxes : bool
        Whether a tap anywhere, and a box drawn anywhere, is told. By keys a cross is moved, and
        Enter sets it.
    loupe : bool
        Show a part of a PNG or JPEG enlarged under the pointer.
    most_height : str
        A length of CSS that it is not to be higher than, "45vh".
    waits_in : str
        Key of a container around it that carries the attribute ``data-waits`` from the moment
        something was moved until the page has answered, for styles to grey what is old.

    Raises
    ------
    ValueError
        For bytes that are neither PNG nor JPEG, or a size that is not above 0.
    """
    check_number("picture width", width, above=0.0, most=1e6)
    check_number("picture height", height, above=0.0, most=1e6)
    marked = list(labels)
    known = {handle.key: handle for handle in handles}
    data = {
        "picture": picture if isinstance(picture, str) else _inline(picture),
        "name": name,
        "width": width,
        "height": height,
        "most_height": most_height,
        "handles": [asdict(handle) for handle in handles],
        "line": asdict(line) if line else None,
        "points": [_point(each) for each in marked if each.x1 is None],
        "boxes": [_box(each) for each in marked if each.x1 is not None],
        "taps": taps,
        "draws_boxes": draws_boxes,
        "loupe": loupe,
        "waits_in": waits_in,
        "help": HELP,
        "heard": heard(st.session_state.get(key)),
    }

    def pointed() -> None:
        said = pointed_at(st.session_state.get(key), known, width, height)
        if said is not None:
            on_pointed(said)

    # of a mapping the page library looks at every value for tables, for which it loads pandas
    _component()(key=key, data=(data,), on_said_change=pointed)


def heard(state: object) -> int:
    """Return the number of the last thing that a picture's script told, 0 before any."""
    said = state.get("said") if isinstance(state, Mapping) else None
    count = said.get("count") if isinstance(said, Mapping) else None
    return count if isinstance(count, int) and 0 <= count < MOST_COUNT else 0


def pointed_at(
    state: object, handles: Mapping[str, Handle], width: float, height: float
) -> Pointed | None:
    """Return what a picture's script told, None for anything that it would not tell.

    It comes from the browser, so every part of it is checked.
    """
    said = state.get("said") if isinstance(state, Mapping) else None
    if not isinstance(said, Mapping):
        return None
    try:
        return _READ[str(said.get("kind"))](said, handles, width, height)
    except (ValueError, KeyError):
        return None


def _moved(
    said: Mapping[str, Any], handles: Mapping[str, Handle], width: float, height: float
) -> Moved:
    handle = handles[str(said["key"])]
    if handle.value is None:
        return Moved(key=handle.key, x=_within(said["x"], width), y=_within(said["y"], height))
    slack = 1e-6 * max(1.0, abs(handle.low), abs(handle.high))
    value = check_number("value", said["value"], least=handle.low - slack, most=handle.high + slack)
    return Moved(key=handle.key, value=value)


def _removed(
    said: Mapping[str, Any], handles: Mapping[str, Handle], width: float, height: float
) -> Removed:
    return Removed(key=handles[str(said["key"])].key)


def _tapped(
    said: Mapping[str, Any], handles: Mapping[str, Handle], width: float, height: float
) -> Tapped:
    along = said.get("along")
    return Tapped(
        x=_within(said["x"], width),
        y=_within(said["y"], height),
        along=None if along is None else check_number("along", along, least=0.0, most=1e6),
    )


def _boxed(
    said: Mapping[str, Any], handles: Mapping[str, Handle], width: float, height: float
) -> Boxed:
    x0, x1 = (_within(said[name], width) for name in ("x0", "x1"))
    y0, y1 = (_within(said[name], height) for name in ("y0", "y1"))
    if x1 <= x0 or y1 <= y0:
        raise refuse("box", "from its upper left to its lower right", (x0, y0, x1, y1))
    return Boxed(x0=x0, y0=y0, x1=x1, y1=y1)


_READ: Mapping[str, Callable[[Mapping[str, Any], Mapping[str, Handle], float, float], Pointed]] = {
    "moved": _moved,
    "removed": _removed,
    "tapped": _tapped,
    "boxed": _boxed,
}


def _within(value: object, most: float) -> float:
    return check_number("place", value, least=0.0, most=most)


def _point(label: Label) -> dict[str, object]:
    return {"x": label.x, "y": label.y, "label": label.text, "dot": label.dot}


def _box(label: Label) -> dict[str, object]:
    return {"x0": label.x, "y0": label.y, "x1": label.x1, "y1": label.y1, "label": label.text}


def _inline(picture: bytes) -> str:
    for signature, kind in SIGNATURES.items():
        if picture.startswith(signature):
            return f"data:image/{kind};base64,{base64.b64encode(picture).decode()}"
    raise refuse("picture", "a PNG or a JPEG", f"{len(picture)} bytes of something else")


def _source(name: str) -> str:
    return (files("data.page.pointing") / name).read_text(encoding="utf-8")


_MOUNT: list[Callable[..., Any]] = []


def _component() -> Callable[..., Any]:
    if not _MOUNT:
        script = _source("bent_line.js") + _source("pointing.js")
        _MOUNT.append(
            st.components.v2.component("pointing", css=_source("pointing.css"), js=script)
        )
    return _MOUNT[0]
