"""The demo's bases and dyes: marked as invented, and whole."""

from __future__ import annotations

import pytest

from data import FOLDER
from tinting.colour.colorimetry import delta_e, lab
from tinting.skin.demo import demo_base, demo_base_names, demo_dyes
from tinting.skin.dyed import tint


@pytest.mark.parametrize("name", ["base", "dyes"])
def test_says_that_it_is_invented(name: str) -> None:
    first = (FOLDER / "demo" / f"{name}.csv").read_text(encoding="utf-8").splitlines()[0]
    assert first.startswith("# Invented")


def test_bases_and_dyes_are_what_their_rows_say() -> None:
    assert demo_base_names() == ("off-white TPU", "natural TPU")
    base = demo_base()
    assert base.kind == "opaque" and base.thickness == pytest.approx(0.0012)
    assert delta_e(lab(base.reflectance), (88.5, -0.8, 6.5)) < 0.01
    assert demo_base("natural TPU").kind == "translucent"
    dyes = {dye.name: dye for dye in demo_dyes()}
    assert len(dyes) == 7
    assert delta_e(tint(base, [(dyes["reed green"], 0.1)], 3).lab(), (66, -22, 30)) < 0.01
    assert delta_e(tint(base, [(dyes["slate blue"], 0.1)], 3).lab(), (58, -3, -30)) < 0.01


def test_unknown_base_is_refused() -> None:
    with pytest.raises(ValueError, match="demo base must be one of off-white TPU"):
        demo_base("marble")
