"""Files of strangers, whole and damaged, for the property tests."""

from __future__ import annotations

import functools
import io
import json
import zipfile
from typing import Any

import numpy as np
from hypothesis import strategies as st
from PIL import Image

from data.store.design import design_text
from tests.tinting.strategies import Strategy, plans, record_lists
from tinting.log.table import write_csv
from tinting.mix.plan import plain


@functools.cache
def photo(kind: str = "JPEG", side: int = 48) -> bytes:
    """A picture of three fields of colour, as a file."""
    pixels = np.full((side, side, 3), 120, dtype=np.uint8)
    pixels[:16], pixels[-16:] = (150, 170, 90), (230, 228, 226)
    stream = io.BytesIO()
    Image.fromarray(pixels).save(stream, kind)
    return stream.getvalue()


@functools.cache
def parcel(content: bytes, name: str = "photos/a.jpg") -> bytes:
    """A zip with that table and a picture under that name in it."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as made:
        made.writestr("swatches.csv", content)
        made.writestr(name, photo())
    return stream.getvalue()


@st.composite
def mutated(draw: Any, whole: Strategy) -> bytes:
    """A file with some bytes put in place of others, cut off, doubled or left whole."""
    content = draw(whole)
    for _ in range(draw(st.integers(0, 3))):
        place = draw(st.integers(0, len(content)))
        length = draw(st.integers(0, 8))
        put = draw(st.one_of(st.binary(max_size=8), st.just(content[:64]), st.just(b"")))
        content = content[:place] + put + content[place + length :]
    return content[: draw(st.integers(0, len(content)))] if draw(st.booleans()) else content


def pictures() -> Strategy:
    return st.sampled_from(["JPEG", "PNG", "WEBP"]).map(photo)


def tables() -> Strategy:
    return record_lists(3).map(write_csv)


def parcels() -> Strategy:
    names = st.sampled_from(["photos/a.jpg", "photos/../a.jpg", "/a", "photos/\\a", "a:b"])
    return st.builds(parcel, tables(), names)


def designs() -> Strategy:
    return plans().map(lambda plan: design_text({"tint": plain(plan)}).encode())


def loose_json() -> Strategy:
    """Any value that JSON can hold."""
    texts = st.text(max_size=6)
    return st.recursive(
        st.one_of(st.none(), st.booleans(), st.floats(), st.integers(), texts),
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(texts, inner, max_size=3),
        max_leaves=8,
    )


@st.composite
def spoilt(draw: Any, whole: Strategy) -> Any:
    """Plain data with one value of it, at any depth, replaced, added or left out."""
    value = json.loads(json.dumps(draw(whole)))
    node = value
    while isinstance(node, (dict, list)) and node:
        keys = sorted(node) if isinstance(node, dict) else list(range(len(node)))
        key = draw(st.sampled_from(keys))
        if draw(st.booleans()) or not isinstance(node[key], (dict, list)):
            if draw(st.booleans()):
                node[key] = draw(loose_json())
            else:
                del node[key]
            break
        node = node[key]
    return value
