"""What the log teaches: limits, refusals that name the row, and a fit that meets its swatches."""

from __future__ import annotations

import dataclasses

import pytest

from tinting.colour.colorimetry import delta_e
from tinting.learn.doubts import Fluorescent
from tinting.learn.fit import MOST_DYES
from tinting.learn.learned import MARK, NOTHING, learn, row_words, swatch_words
from tinting.learn.repeats import mean_swatches
from tinting.log.record import SwatchRecord
from tinting.skin.demo import demo_base, demo_dyes
from tinting.skin.dyed import tint
from tinting.skin.inputs import Dye

BASE = demo_base()
GREEN = demo_dyes()[0]
RECIPES = ((1 / 8, 3), (1 / 2, 5), (1 / 8, 1))


def row(share: float, coats: int, dye: Dye = GREEN, **other: object) -> SwatchRecord:
    lab = tint(BASE, [(dye, share)], coats).lab()
    fields = {
        "base_name": "own TPU",
        "base_lab": (88.5, -0.8, 6.5),
        "base_kind": "opaque",
        "lab": tuple(float(value) for value in lab),
        "shares": {dye.name: share},
        "coats": coats,
        "method": "instrument",
        **other,
    }
    return SwatchRecord(**fields)  # type: ignore[arg-type]


def test_nothing_is_learned_from_nothing() -> None:
    assert learn([]).fits == ()
    assert learn([]).dyes() == NOTHING.dyes() == ()


def test_rows_without_dye_coat_or_use_teach_nothing() -> None:
    bare = row(0.0, 0, lab=(88.5, -0.8, 6.5))
    assert learn([bare, row(0.1, 0), row(0.1, 2, used=False)]).fits == ()


def test_three_swatches_predict_a_fourth_recipe() -> None:
    known = learn([row(*recipe) for recipe in RECIPES])
    (dye,) = known.dyes(f"own TPU{MARK}")
    assert dye.name == "reed green (learned)" and dye.covariance is not None
    base = known.bases["own TPU (learned)"]
    meant = tint(BASE, [(GREEN, 0.25)], 2).lab()
    found = tint(base, [(dye, 0.25)], 2).lab()
    assert delta_e(meant, found) < 1.3  # the median goal for three swatches
    assert set(known.places.values()) == {"own TPU"} and len(known.places) == 3


def test_duplicates_are_one_swatch_and_all_have_their_place() -> None:
    known = learn([row(0.1, 2), row(0.1, 2), row(0.3, 2)])
    assert len(known.fits[0].swatches) == 2 and len(known.places) == 3


def test_a_fluorescent_dye_is_left_out_and_named_and_the_others_are_learned() -> None:
    neon = [
        row(0.1, 1, lab=(95.0, 20.0, 80.0), shares={"neon": 0.1}),
        row(0.5, 1, lab=(80.0, 25.0, 70.0), shares={"neon": 0.5}),
    ]
    known = learn([*(row(*recipe) for recipe in RECIPES), *neon])
    assert known.dye_names == ("reed green",)
    (told,) = [each.text for each in known.cautions if each.key == "refused swatch"]
    assert told.startswith("neon is not learned: neon 10 %, 1 coat on own TPU reads lighter")


def test_a_fluorescent_dye_is_known_by_its_class_and_not_by_a_sentence(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(Fluorescent, "__str__", lambda self: "said in other words")
    neon = row(0.1, 1, lab=(95.0, 20.0, 80.0), shares={"neon": 0.1})
    known = learn([*(row(*recipe) for recipe in RECIPES), neon])
    assert known.dye_names == ("reed green",)
    assert any(each.text.startswith("neon is not learned") for each in known.cautions)


def test_a_base_that_no_surface_has_is_left_out_and_named() -> None:
    odd = row(0.1, 2, base_name="odd", base_lab=(1.0, 150.0, -150.0))
    known = learn([odd, *(row(*recipe) for recipe in RECIPES)])
    assert list(known.bases) == ["own TPU (learned)"]
    assert any("on odd, because" in each.text for each in known.cautions)


def test_one_name_for_two_bases_makes_two_bases() -> None:
    known = learn([row(0.1, 2), row(0.2, 2, thickness=0.004), row(0.3, 2, base_kind="translucent")])
    assert len(known.bases) == 3
    assert all(name.startswith("own TPU (") for name in known.bases)


def test_names_cut_short_do_not_run_into_one() -> None:
    long = "x" * 79
    known = learn([row(0.1, 2, base_name=long + "1"), row(0.2, 2, base_name=long + "2")])
    assert len(known.bases) == 2


def test_too_many_dyes_keep_the_most_frequent() -> None:
    many = [
        row(0.1, 2, dye=dataclasses.replace(GREEN, name=f"dye {number}"))
        for number in range(MOST_DYES + 2)
    ]
    known = learn([*many, row(0.2, 2, dye=dataclasses.replace(GREEN, name="dye 13"))])
    assert len(known.dye_names) == MOST_DYES and "dye 13" in known.dye_names
    assert any(each.key == "too many" for each in known.cautions)


def test_a_dye_named_without_a_share_does_no_harm() -> None:
    lab = tuple(float(value) for value in tint(BASE, [(GREEN, 0.1)], 2).lab())
    known = learn([row(0.1, 2, lab=lab, shares={"reed green": 0.1, "ghost": 0.0})])
    assert known.dye_names == ("reed green",)


def test_words() -> None:
    assert swatch_words({"reed green": 0.125}, 1) == "reed green 12.5 %, 1 coat"
    assert swatch_words({}, 0) == "no dye, 0 coats"
    (pooled,) = mean_swatches([row(0.5, 3)]).swatches
    assert row_words(pooled) == "reed green 50 %, 3 coats on own TPU"


@pytest.mark.parametrize("junk", [None, 3, "rows", [None], [GREEN]])
def test_junk_is_refused(junk: object) -> None:
    with pytest.raises(ValueError, match=r" must be .*; got "):
        learn(junk)  # type: ignore[arg-type]


@pytest.mark.parametrize("share", [None, "much", float("nan"), 2])
def test_words_refuse_junk(share: object) -> None:
    with pytest.raises(ValueError, match=r"share of dye must be .*; got "):
        swatch_words({"dye": share}, 1)  # type: ignore[dict-item]


SIX = (*RECIPES, (1 / 32, 2), (1.0, 3), (1 / 4, 2))


def test_one_bad_row_is_set_aside_with_its_reason() -> None:
    rows = [row(*recipe) for recipe in SIX]
    # 1/4 booked as 1/32: far too dark for it
    rows[3] = dataclasses.replace(rows[3], lab=rows[5].lab)
    known = learn(rows)
    (told,) = [each.text for each in known.cautions if each.key == "set aside"]
    assert told.startswith("Set aside: reed green 3.12 %, 2 coats on own TPU, because it reads")
    assert known.dye_names == ("reed green",) and rows[3].id not in known.places
    dye, base = known.dyes()[0], known.bases["own TPU (learned)"]
    meant = tint(BASE, [(GREEN, 1 / 16)], 2).lab()
    assert delta_e(tint(base, [(dye, 1 / 16)], 2).lab(), meant) < 1.3


def test_one_row_lighter_than_its_base_does_not_unlearn_a_dye() -> None:
    rows = [row(*recipe) for recipe in SIX]
    bright = row(0.2, 1, lab=(97.0, -0.8, 6.5))
    known = learn([*rows, bright])
    assert known.dye_names == ("reed green",) and bright.id not in known.places
    (told,) = [each.text for each in known.cautions if each.key == "refused swatch"]
    assert told.startswith("Left out of the fit: reed green 20 %, 1 coat on own TPU, because")


def test_names_are_folded() -> None:
    rows = [row(*recipe) for recipe in RECIPES]
    rows[1] = dataclasses.replace(rows[1], shares={"Reed  Green": 0.5})
    assert learn(rows).dye_names == ("reed green",)
    assert len(learn(rows).places) == 3


def test_what_is_left_out_is_what_the_others_say() -> None:
    """Second route: a fit that never saw the row."""
    rows = [row(*recipe) for recipe in SIX]
    known = learn(rows)
    for number in (1, 3, 5):
        less = learn([*rows[:number], *rows[number + 1 :]])
        share, coats = SIX[number]
        dye, base = less.dyes()[0], less.bases["own TPU (learned)"]
        without = tint(base, [(dye, share)], coats).lab()
        assert delta_e(known.left_out[rows[number].id], without) < 1.0
    assert learn(rows[:1]).left_out == {}
