"""What dyes can make: held against measured paints, and against the tint of each mix."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from scipy.spatial import ConvexHull

from tests.tinting.real_paint import Paints, painted, read_paints
from tinting.colour.colorimetry import lab
from tinting.colour.screen import srgb_from_hex
from tinting.colour.spectrum import lab_of_screen_colour
from tinting.learn.fit import DyeFit, fit_dyes
from tinting.recipe.gamut import COLOURED, FAINT, HUES, Gamut, dye_gamut, hue_of
from tinting.skin.demo import demo_base, demo_dyes
from tinting.skin.dyed import tint
from tinting.skin.inputs import Hand

# CSS Color Module Level 4, section 6.1, from memory
NAMED_COLOURS = {
    "#ff0000": "red",
    "#dc143c": "red",  # crimson
    "#ffa500": "orange",
    "#ffff00": "yellow",
    "#008000": "green",
    "#40e0d0": "turquoise",
    "#1e90ff": "blue",  # dodger blue
    "#4169e1": "blue",  # royal blue
    "#8a2be2": "violet",  # blue violet
    "#ff00ff": "magenta",
}


@pytest.fixture(scope="module")
def paints() -> Paints:
    return read_paints()


@pytest.fixture(scope="module")
def fit(paints: Paints) -> DyeFit:
    every = [swatch for name in paints.alone for swatch in painted(paints, name, 3, False)]
    return fit_dyes(paints.base, every)


@pytest.fixture(scope="module")
def demo() -> Gamut:
    return dye_gamut(demo_base(), demo_dyes())


def inside(gamut: Gamut, labs: np.ndarray, spare: float) -> float:
    """Share of colours within the hull of a gamut, or so far outside of it."""
    hull = ConvexHull(gamut.labs).equations
    return float(((labs @ hull[:, :3].T + hull[:, 3]).max(axis=1) <= spare).mean())


def test_measured_mixtures_lie_in_what_their_paints_can_make(paints: Paints, fit: DyeFit) -> None:
    mixed = np.array([lab(spectrum) for _, spectrum in paints.mixed])
    assert len(mixed) > 100
    dyes = list(fit.dyes.values())
    whole = dye_gamut(fit.base, dyes, max_coats=1, max_share=1.0)
    # the dyes are learned from three swatches each, and miss mixtures by some 2 themselves
    assert inside(whole, mixed, 2.0) > 0.95
    fewer = dye_gamut(fit.base, dyes[:2], max_coats=1, max_share=1.0)
    assert inside(fewer, mixed, 2.0) < 0.5


def test_each_colour_is_the_tint_of_its_mix(demo: Gamut) -> None:
    assert demo.labs.shape == (len(demo.shares), 3)
    for place in (0, 3, 700, len(demo.labs) - 1):
        mix = list(zip(demo_dyes(), demo.shares[place].tolist(), strict=True))
        shown = tint(demo_base(), mix, demo.coats).lab()
        assert demo.labs[place] == pytest.approx(shown, abs=1e-9)
    assert not demo.shares[0].any()


def test_a_stronger_mix_more_dyes_and_more_coats_reach_no_less() -> None:
    base, dyes = demo_base(), demo_dyes()
    target = tint(base, [(dyes[0], 0.2), (dyes[4], 0.2)], 5).lab()
    far = {
        key: dye_gamut(base, dyes[:5], **limits).distance(target)
        for key, limits in {
            "all": {},
            "weak": {"max_share": 0.1},
            "one": {"max_dyes": 1},
            "coat": {"max_coats": 1, "max_share": 0.1},
        }.items()
    }
    assert far["all"] < 1.0 < far["weak"] <= far["coat"] and far["all"] < far["one"]
    light = dye_gamut(base, dyes[:1], max_share=0.1, hand=Hand(factor=0.5))
    full = dye_gamut(base, dyes[:1], max_share=0.05)
    assert light.labs[-1] == pytest.approx(full.labs[-1], abs=1e-9)  # half the load of twice


def test_the_shares_keep_to_what_is_admitted(demo: Gamut) -> None:
    assert ((demo.shares > 0).sum(axis=1) <= 3).all()
    assert demo.shares.sum(axis=1).max() == pytest.approx(0.5)
    # beside two at their strongest the faintest is taken down by half
    assert demo.shares[demo.shares > 0].min() > 0.49 * FAINT
    assert len(dye_gamut(demo_base(), demo_dyes()[:1]).labs) == 61


@pytest.mark.parametrize(("colour", "name"), NAMED_COLOURS.items())
def test_hues_are_called_what_they_are(colour: str, name: str) -> None:
    assert hue_of(lab_of_screen_colour(srgb_from_hex(colour))) == name


def test_a_hue_without_its_dye_is_missing() -> None:
    green = dataclasses.replace(demo_dyes()[0])
    found = dye_gamut(demo_base(), [green])
    chroma = np.hypot(*found.labs[:, 1:].T)
    assert "green" not in found.missing and {"blue", "violet", "red"} <= {*found.missing}
    assert max(found.chroma_by_hue.values()) == pytest.approx(chroma.max())
    assert found.chroma_by_hue.keys() == HUES.keys()
    assert all(found.chroma_by_hue[name] < COLOURED for name in found.missing)


def test_squares_hold_every_colour_once(demo: Gamut) -> None:
    squares = demo.squares(4.0)
    for lightness, a, b in demo.labs[::500]:
        held = (np.abs(squares[:, :2] - (a, b)) <= 2.0).all(axis=1)
        assert held.sum() == 1
        low, high = squares[held][0, 2:]
        assert low <= lightness <= high
    leaf = demo.leaf((62, -16, 28), 4.0)
    bare = demo.leaf((62, 0, 28), 4.0, within=180.0)
    assert 0 < len(leaf) < len(bare) and leaf[:, 0].min() > 0


@pytest.mark.parametrize(
    "wrong",
    [{"base": None}, {"dyes": []}, {"dyes": "reed green"}, {"max_dyes": 4}, {"max_coats": 0},
     {"max_share": 1e-9}, {"dyes": [None]}],
)  # fmt: skip
def test_anything_else_is_refused(wrong: dict[str, object]) -> None:
    given = {"base": demo_base(), "dyes": demo_dyes(), **wrong}
    with pytest.raises(ValueError, match=" must be "):
        dye_gamut(given.pop("base"), given.pop("dyes"), **given)  # type: ignore[arg-type]
