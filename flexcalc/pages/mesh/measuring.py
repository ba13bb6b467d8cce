"""What is measured in a mesh, kept for the next run of the page, with progress while it takes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, TypeVar

import numpy as np
import streamlit as st

from data.rules import Array, refuse
from flexcalc.build.channel import ChannelSize
from flexcalc.mesh import (
    Bored,
    Line,
    MeshLimb,
    Surface,
    View,
    bore,
    ends_of,
    few_triangles,
    limb_centreline,
    mesh_limb,
    read_surface,
    side_view,
)
from flexcalc.mesh.solid import body_of, solid_of

T = TypeVar("T")
KEPT = 3
"""Meshes of which surface, line and limb are kept: each may take 100 MB."""


@dataclass(frozen=True, kw_only=True)
class Chosen:
    """What a maker chose on a mesh: ``unit`` (None: the file's), ``root`` (x, y, z) [m] or None
    for the thicker end, ``wrist`` [m] or None for the one found, ``up`` or None for the plane of
    the limb's own curve; ``roomiest``: the channel runs where the cover is thickest.
    """

    unit: str | None
    root: tuple[float, float, float] | None
    wrist: float | None
    up: tuple[float, float, float] | None
    roomiest: bool


@dataclass(frozen=True, kw_only=True, eq=False)
class Measured:
    """A mesh with all that is measured in it; ``root`` (3,) is the place that was taken. [m]"""

    surface: Surface = field(repr=False)
    view: View = field(repr=False)
    root: Array = field(repr=False)
    limb: MeshLimb = field(repr=False)


@st.cache_resource(max_entries=KEPT, show_spinner=False)
def surface_of(_raw: bytes, digest: str, unit: str | None) -> Surface:
    """Return the surface of a file; ValueError as `read_surface`."""
    return read_surface(_raw, unit)


@st.cache_resource(max_entries=KEPT, show_spinner=False)
def seen_of(_surface: Surface, key: tuple[str, str]) -> tuple[View, Array]:
    """Return a body from the side, and its two ends."""
    return side_view(_surface), ends_of(_surface)


@st.cache_resource(max_entries=KEPT, show_spinner=False)
def few_of(_surface: Surface, key: tuple[str, str]) -> Array:
    """Return the triangles with which a body is turned; ValueError as `few_triangles`."""
    return few_triangles(_surface)


@st.cache_resource(max_entries=2 * KEPT, show_spinner=False)
def _line(
    _surface: Surface, key: tuple[str, str], root: tuple[float, ...], wrist: float | None
) -> Line:
    return limb_centreline(_surface, np.array(root), wrist=wrist)


@st.cache_resource(max_entries=2 * KEPT, show_spinner=False)
def _limb(
    _surface: Surface,
    _found: Line,
    key: tuple[str, str],
    root: tuple[float, ...],
    wrist: float | None,
    up: tuple[float, float, float] | None,
    roomiest: bool,
) -> MeshLimb:
    return mesh_limb(_surface, _found, up=up, roomiest=roomiest)


def key_of(surface: Surface) -> tuple[str, str]:
    """Return what tells a surface from every other."""
    return surface.sha256, surface.unit


def measured(
    raw: bytes, digest: str, chosen: Chosen, progress: Callable[[float, str], object]
) -> Measured:
    """Return what is measured in a mesh; ``progress`` is told a share and what is done.

    Raises
    ------
    ValueError
        As reading, `limb_centreline` and `mesh_limb` refuse it.
    """
    progress(0.05, "Reading the file …")
    surface = surface_of(raw, digest, chosen.unit)
    key = key_of(surface)
    progress(0.3, "Looking at the body from the side …")
    view, ends = seen_of(surface, key)
    root = tuple(float(value) for value in (chosen.root if chosen.root else ends[0]))
    progress(0.5, "Looking for the line of the limb …")
    found = _line(surface, key, root, None)
    wrist = None
    if chosen.wrist is not None:
        wrist = chosen.wrist / found.length
        if wrist > 1:
            rule = f"at most {found.length:.4g} m, the whole line"
            raise refuse("wrist", rule, chosen.wrist)
        found = _line(surface, key, root, wrist)
    progress(0.8, "Measuring its sections …")
    limb = _limb(surface, found, key, root, wrist, chosen.up, chosen.roomiest)
    if solid_of(surface).closed:
        progress(0.9, "Getting it ready for its channel …")
        body_of(surface)
    return Measured(surface=surface, view=view, root=np.array(root), limb=limb)


@dataclass(frozen=True, kw_only=True)
class Cut:
    """How a channel is cut: what `bore` asks for besides the limb and the channel."""

    entry: str
    depth_share: float
    pocket: float
    up: tuple[float, float, float]


@st.cache_resource(max_entries=KEPT, show_spinner=False)
def bored_of(
    _surface: Surface, _limb: MeshLimb, key: tuple[Any, ...], channel: ChannelSize, cut: Cut
) -> Bored:
    """Return the limb with its channel; ValueError and RuntimeError as `bore`."""
    return bore(
        _surface,
        _limb.line,
        channel,
        entry=cut.entry,
        depth_share=cut.depth_share,
        up=cut.up,
        pocket=cut.pocket,
        path=_limb.path,
    )
