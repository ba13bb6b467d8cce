"""Numbers, texts and files of every kind, for the property tests of all packages."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from typing import Any

from hypothesis import strategies as st

from data.rules import unseen

Strategy = st.SearchStrategy[Any]
SIGNS = st.characters(codec="utf-8").filter(lambda sign: not unseen(sign))
NAMES = st.text(SIGNS, max_size=12).map(lambda text: "n" + text).filter(str.isprintable)
TYPED = st.one_of(
    st.sampled_from(
        ["", "0", "-1", "1e400", "nan", "12", "1,5", "2 mm", "1/16 in", "AWG 14", "14 gauge",
         "1 1/2 in", "50 %", "90°", "upright", "round", "85A", "#9aa86b", "50 0 0", "lab 1",
         "none", "reed green", "opaque", "1e-320", "\0"]
    ),
    st.text(max_size=12),
    st.floats().map(str),
)  # fmt: skip
"""What may be typed into a field of a page or stand in its link, most of it nonsense."""


def sizes(least: float, most: float) -> Strategy:
    """Positive numbers from ``least`` to ``most``, as many small as large, and the ends."""
    span = math.log(most / least)
    between = st.floats(0.0, 1.0).map(lambda at: min(max(least * math.exp(span * at), least), most))
    return st.one_of(between, between, st.sampled_from([least, most]))


def or_zero(strategy: Strategy) -> Strategy:
    return st.one_of(st.just(0.0), strategy)


def or_none(strategy: Strategy) -> Strategy:
    return st.one_of(st.none(), strategy)


def forms(defaults: Mapping[str, str], most: int = 4) -> Strategy:
    """Some fields of a form, the other ones left as they stand."""
    return st.dictionaries(st.sampled_from(sorted(defaults)), TYPED, max_size=most)


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
