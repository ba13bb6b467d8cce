"""A design survives its file; a damaged, hostile or newer file is refused with the reason."""

from __future__ import annotations

import dataclasses
import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from data.rules import Refused
from data.store.design import LARGEST, SUM, VERSION, design_text, empty_design, read_design
from data.store.folder import write_whole
from flexcalc.figure.figure import Body, Place, figure_from
from flexcalc.figure.totals import totals
from flexcalc.forms.limb_form import DEFAULTS, PRESETS, plan_from_form
from flexcalc.forms.texts import form_from_kept
from flexcalc.limb.inputs import Along, Elastomer, Setting
from flexcalc.limb.mesh_file import MeshFile
from flexcalc.pose.pose import hold_pose
from flexcalc.verdict.plan import LimbPlan, Wish, limb_plan_from, plain
from flexcalc.verdict.verdict import assess
from tinting.mix.plan import plain as tint_plain
from tinting.mix.plan import tint_plan_from
from tinting.skin.inputs import Hand


def demo(name: str = "Heron neck") -> LimbPlan:
    return plan_from_form({**DEFAULTS, **PRESETS[name]}, name)


@pytest.mark.parametrize("name", PRESETS)
def test_every_preset_comes_back_equal(name: str) -> None:
    text = design_text({"name": "heron", "limbs": [plain(demo(name))]})
    parts = read_design(text.encode())
    assert limb_plan_from(parts["limbs"][0]) == demo(name)
    assert parts["name"] == "heron"


def test_infinity_has_a_word_of_its_own() -> None:
    rubber = Elastomer(
        name="linear",
        elastic_modulus=2e7,
        density=1200.0,
        poisson_ratio=0.48,
        saturation_stress=math.inf,
        relaxation_exponent=0.05,
    )
    made = plain(rubber)
    assert made["saturation_stress"] == "unlimited"
    json.dumps(made, allow_nan=False)


def test_version_1_opens() -> None:
    old = {"format": "limb and tint design", "version": 1, "name": "old", "limb": plain(demo())}
    assert limb_plan_from(read_design(json.dumps(old))["limbs"][0]) == demo()


def test_version_2_opens_with_the_meaning_it_had() -> None:
    """A file as version 2 wrote it, the invented heron of then: its channels were typed."""
    text = (Path(__file__).parent / "design_version_2.json").read_text(encoding="utf-8")
    neck, leg = (limb_plan_from(kept) for kept in read_design(text)["limbs"])
    assert (neck.channel, leg.channel) == ("typed", "typed")
    assert (neck.limb.channel_diameter, leg.limb.channel_diameter) == (0.0039, 0.0032)
    assert neck.limb.wire is not None and neck.limb.wire.metal.back_stress == 0.25
    assert neck.limb.wire.metal.hardening_exponent == 0.2
    assert neck.limb.elastomer.modulus_factor == pytest.approx(1.7, rel=1e-3)
    assert neck.wish == Wish(share=0.85, sag=0.01, re_poses=50.0, probability=0.8)
    # as version 2 said of its bend; kink and weight are reckoned otherwise today
    assert "80%" in assess(neck.limb, neck.setting, wish=neck.wish).sentence
    # kept again it is typed still
    again = read_design(design_text({"name": "n", "limbs": [plain(neck)]}))
    assert limb_plan_from(again["limbs"][0]) == neck


def test_version_3_opens_with_the_meaning_it_had() -> None:
    """A file as version 3 wrote it: nothing was said of a hand, so the tint is as it was then."""
    text = (Path(__file__).parent / "design_version_3.json").read_text(encoding="utf-8")
    parts = read_design(text)
    assert limb_plan_from(parts["limbs"][0]).channel == "sized"
    plan = tint_plan_from(parts["tint"])
    assert plan.hand is None
    # CIELAB as version 3 said of it
    np.testing.assert_allclose(
        plan.result().lab(), (65.29867165, -19.83293595, 35.95262617), atol=1e-6
    )
    again = tint_plan_from(read_design(design_text({"tint": tint_plain(plan)}))["tint"])
    assert again.hand is None
    handled = dataclasses.replace(plan, hand=Hand(factor=1.2, spread=0.1))
    assert tint_plan_from(tint_plain(handled)).hand == handled.hand


def test_version_4_opens_with_the_meaning_it_had() -> None:
    """A file as version 4 wrote it: a neck bent round a former, a leg with a pose before it, a
    tail that tapers and was printed curved."""
    text = (Path(__file__).parent / "design_version_4.json").read_text(encoding="utf-8")
    neck, leg, tail = (limb_plan_from(kept) for kept in read_design(text)["limbs"])
    assert (neck.channel, neck.setting.bent_by, leg.setting.bent_by) == (
        "sized",
        "former",
        "hands",
    )
    assert leg.setting.press_pause == 90.0
    ((bends, held),) = leg.setting.poses_before
    assert (bends[0].angle, held) == (-0.5, 3600.0)
    assert isinstance(tail.limb.outline, Along) and len(tail.limb.outline.stations) == 3
    assert tail.limb.inserted_before == 7200.0
    # as version 4 said of them
    shares = [hold_pose(plan.limb, plan.setting).retained_share for plan in (neck, leg, tail)]
    assert shares[0] == pytest.approx((0.9055, 0.9100), abs=2e-3)
    assert shares[1] == pytest.approx((0.7782,), abs=2e-3)
    assert shares[2] == pytest.approx((0.9347, 0.9304), abs=2e-3)


def test_version_5_opens_with_the_meaning_it_had() -> None:
    """A file as version 5 wrote it: the invented heron's neck, a leg that tapers, was printed
    curved and had two poses before; no limb said of a mesh."""
    text = (Path(__file__).parent / "design_version_5.json").read_text(encoding="utf-8")
    neck, leg = (limb_plan_from(kept) for kept in read_design(text)["limbs"])
    assert neck.mesh is None and leg.mesh is None
    assert isinstance(leg.limb.outline, Along) and len(leg.setting.poses_before) == 2
    # as version 5 said of them
    shares = [hold_pose(plan.limb, plan.setting).retained_share for plan in (neck, leg)]
    assert shares[0] == pytest.approx((0.8988, 0.9183), abs=2e-3)
    assert shares[1] == pytest.approx((0.9172,), abs=2e-3)


def test_a_limb_from_a_mesh_comes_back_equal() -> None:
    plan = demo("Heron leg")
    file = MeshFile(
        name="leg.stl", sha256="0f" * 32, unit="mm", root=(0.01, -0.02, 0.3), wrist=0.1,
        up=(0.0, 0.6, 0.8), hand_mass=0.004,
    )  # fmt: skip
    outline = Along(stations=((0.0, plan.limb.middle_outline), (1.0, plan.limb.middle_outline)))
    plan = replace(plan, limb=replace(plan.limb, outline=outline), mesh=file)
    text = design_text({"name": "n", "limbs": [plain(plan)]})
    assert limb_plan_from(read_design(text)["limbs"][0]) == plan
    with pytest.raises(ValueError, match="mesh hash must be 64 digits"):
        replace(file, sha256="0F" * 32)
    with pytest.raises(ValueError, match="outline of a mesh must be an Along"):
        replace(demo("Heron leg"), mesh=file)


def test_several_poses_before_come_back_equal() -> None:
    plan = demo("Heron leg")
    bends = plan.setting.bends
    setting = replace(plan.setting, last_bends=((bends, 3600.0), ((), 86400.0)))
    plan = replace(plan, setting=setting)
    text = design_text({"name": "n", "limbs": [plain(plan)]})
    assert limb_plan_from(read_design(text)["limbs"][0]) == plan


def test_version_6_opens_with_the_meaning_it_had() -> None:
    """A file as version 6 wrote it, before limbs had a place: all stand at the figure's own point.

    The numbers were typed from what that version said of it.
    """
    text = (Path(__file__).parent / "design_version_6.json").read_text(encoding="utf-8")
    design = read_design(text)
    assert (design["name"], design["note"]) == ("Heron", "Mind the beak.")
    assert (design["places"], design["tints"], design["logbook"]) == ([], [], [])
    figure = figure_from(design)
    assert [one.plan.name for one in figure.limbs] == ["Neck", "Leg"]
    assert {one.place for one in figure.limbs} == {Place()} and figure.body == Body()
    neck = figure.limbs[0].plan
    assert hold_pose(neck.limb, neck.setting).retained_share == pytest.approx(
        (0.8988, 0.9183), abs=2e-3
    )
    # kept again it is the same
    again = read_design(design_text(design))
    assert figure_from(again) == figure


@pytest.mark.parametrize(
    ("change", "name"),
    [
        ({"places": {}}, "design places"),
        ({"places": [{}]}, "design places"),
        ({"tints": [None]}, "design tints"),
        ({"limbs": [{}], "tints": [3]}, "design tints"),
        ({"limbs": [{}], "places": [3]}, "design places"),
        ({"body": 3}, "design body"),
        ({"logbook": 3}, "design logbook"),
        ({"logbook": [3]}, "design logbook"),
        ({"logbook": [{}] * 2001}, "design logbook"),
    ],
)
def test_parts_of_a_figure_that_cannot_be_are_refused(change: dict[str, object], name: str) -> None:
    with pytest.raises(Refused) as refused:
        read_design(envelope(**change))
    assert refused.value.name == name


def test_version_7_opens_with_the_meaning_it_had() -> None:
    """A file as version 7 wrote it: bends are made as wanted, nothing is known of the model."""
    text = (Path(__file__).parent / "design_version_7.json").read_text(encoding="utf-8")
    (neck,) = (limb_plan_from(kept) for kept in read_design(text)["limbs"])
    assert [bend.over_bend for bend in neck.setting.bends] == [1.0, 1.0]
    assert neck.limb.elastomer.model_factor == 1.0
    assert neck.setting.presses == 2 and neck.setting.temperature == 26.0
    # the shares as version 7 said of them
    kept = hold_pose(neck.limb, neck.setting).retained_share
    assert kept == pytest.approx((0.90090, 0.91976), abs=1e-4)
    again = read_design(design_text({"name": "n", "limbs": [plain(neck)]}))
    assert limb_plan_from(again["limbs"][0]) == neck


def test_version_8_opens_with_the_meaning_it_had() -> None:
    """A file as version 8 wrote it: the limb has one pose."""
    text = (Path(__file__).parent / "design_version_8.json").read_text(encoding="utf-8")
    (neck,) = (limb_plan_from(kept) for kept in read_design(text)["limbs"])
    assert neck.poses == () and [bend.over_bend for bend in neck.setting.bends] == [1.05, 1.0]
    # the shares as version 8 said of them
    kept = hold_pose(neck.limb, neck.setting).retained_share
    assert kept == pytest.approx((0.94951, 0.92006), abs=1e-4)
    again = read_design(design_text({"name": "n", "limbs": [plain(neck)]}))
    assert limb_plan_from(again["limbs"][0]) == neck


def test_a_limb_of_version_8_stays_in_its_plane() -> None:
    """A file as version 8 wrote it before anything was said of swing, and what it said then."""
    text = (Path(__file__).parent / "design_version_8_in_plane.json").read_text(encoding="utf-8")
    assert "swing" not in text and "anchored" not in text
    (neck,) = (limb_plan_from(kept) for kept in read_design(text)["limbs"])
    assert [bend.swing for bend in neck.setting.bends] == [0.0, 0.0]
    assert not neck.limb.wire_anchored
    assert [bend.over_bend for bend in neck.setting.bends] == [1.1, 1.1]
    pose = hold_pose(neck.limb, neck.setting)
    assert pose.retained_share == pytest.approx((0.9996565398, 1.0163745749), abs=1e-9)
    assert pose.tip_sag == pytest.approx(0.0003308849173840, abs=1e-12)
    assert pose.shape_at_rest.tip == pytest.approx((0.1252032153738, 0.0453846677889), abs=1e-12)


def test_version_9_opens_with_the_meaning_it_had() -> None:
    """A file as version 9 wrote it: two poses in their order, both in the limb's plane."""
    text = (Path(__file__).parent / "design_version_9.json").read_text(encoding="utf-8")
    (neck,) = (limb_plan_from(kept) for kept in read_design(text)["limbs"])
    assert [pose.name for pose in neck.poses] == ["rest", "reach"]
    said = ((0.86568769970, 0.000386681130496), (0.85992178801, 0.000430429590131))
    for named, (kept, sag) in zip(neck.poses, said, strict=True):
        assert all(bend.swing == 0.0 for bend in named.setting.bends)
        pose = hold_pose(neck.limb, named.setting)
        assert pose.retained_share == pytest.approx((kept,), abs=1e-9)
        assert pose.tip_sag == pytest.approx(sag, abs=1e-12)
    again = read_design(design_text({"name": "n", "limbs": [plain(neck)]}))
    assert limb_plan_from(again["limbs"][0]) == neck


def test_version_10_opens_with_the_meaning_it_had() -> None:
    """A file as version 10 wrote it: a bend that swings, and no checksum at its end."""
    text = (Path(__file__).parent / "design_version_10.json").read_text(encoding="utf-8")
    assert '"sum"' not in text
    design = read_design(text)
    (neck,) = (limb_plan_from(kept) for kept in design["limbs"])
    assert design["logbook"] == [{"limb": "Neck", "kind": "built", "day": "2026-01-05"}]
    # the shares, the sag and the turn as version 10 said of them
    pose = hold_pose(neck.limb, neck.setting)
    assert pose.retained_share == pytest.approx((0.89881627061, 0.92324062681), abs=1e-9)
    assert pose.tip_sag == pytest.approx(0.007870793193018, abs=1e-12)
    assert pose.hand_turn == pytest.approx(0.1736569308496, abs=1e-10)
    assert read_design(design_text(design, summed=True)) == design


def test_version_11_opens_with_the_meaning_it_had() -> None:
    """A file as version 11 wrote it: the surface of a limb from a mesh is that of its outlines."""
    text = (Path(__file__).parent / "design_version_11.json").read_text(encoding="utf-8")
    design = read_design(text)
    (wing,) = (limb_plan_from(kept) for kept in design["limbs"])
    assert wing.mesh is not None and wing.mesh.skin == 0.0
    # shares, sag and surface as version 11 said of them
    pose = hold_pose(wing.limb, wing.setting)
    assert pose.retained_share == pytest.approx((0.87274751159, 0.91114139831), abs=1e-9)
    assert pose.tip_sag == pytest.approx(0.000478895445984, abs=1e-12)
    assert totals(figure_from(design)).area == pytest.approx(0.00624433612626, abs=1e-12)
    measured = replace(wing, mesh=replace(wing.mesh, skin=0.0075))
    again = read_design(design_text({**design, "limbs": [plain(measured)]}))
    assert limb_plan_from(again["limbs"][0]) == measured
    assert totals(figure_from(again)).area == 0.0075


def test_a_file_with_a_checksum_is_refused_where_anything_in_it_was_altered() -> None:
    design = {**empty_design("Heron"), "limbs": [plain(demo())], "note": 'ä "sum": 1'}
    text = design_text(design, summed=True)
    assert read_design(text) == design == read_design(text.encode())
    places = [place for place, sign in enumerate(text[:-1]) if sign.isdigit()]
    for place in places[:: len(places) // 40]:
        other = text[:place] + str((int(text[place]) + 1) % 10) + text[place + 1 :]
        with pytest.raises(Refused) as refused:
            read_design(other)
        assert refused.value.name == SUM or "version" in refused.value.name
    other = text.replace('"Heron"', '"Herom"')
    assert read_design(other, altered=True) == {**design, "name": "Herom"}

    """A file as version 12 wrote it: a leg bent by hands at three places, nothing said of how well
    lever and marks are met nor of how well the filament's softening is known."""
    text = (Path(__file__).parent / "design_version_12.json").read_text(encoding="utf-8")
    (leg,) = (limb_plan_from(kept) for kept in read_design(text)["limbs"])
    usual = Setting(bends=(), clamp_angle=0.0)
    assert (leg.setting.lever, leg.setting.places, leg.setting.temperature) == (0.035, 3, 21.0)
    assert leg.setting.lever_factor == usual.lever_factor == pytest.approx(math.sqrt(2))
    assert leg.setting.places_missed == usual.places_missed == 1
    assert leg.limb.elastomer.saturation_factor == 1.4
    # as version 12 said of it
    pose = hold_pose(leg.limb, leg.setting)
    assert pose.retained_share == pytest.approx((0.8650255033607068,), abs=1e-9)
    assert pose.tip_sag == pytest.approx(0.00010080996414452148, abs=1e-12)
    assert form_from_kept(plain(leg))["lever"] == "35"


def envelope(**changes: object) -> str:
    return json.dumps({"format": "limb and tint design", "version": VERSION, **changes})


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "design file must be whole JSON"),
        ("{", "design file must be whole JSON"),
        ("[1]", "design file must be a file of the format"),
        (envelope(format="other"), "design file must be a file of the format"),
        (envelope(version=VERSION + 1), "design version must be at most"),
        (envelope(version="2"), "design version must be a whole number"),
        (envelope(version=True), "design version must be a whole number"),
        (envelope(limbs={}), "design limbs must be a list"),
        (envelope(limbs=[0] * 31), "design limbs must be a list of at most 30"),
        (envelope(tint=3), "design tint must be a mapping"),
        (envelope(name=4), "design name must be a text"),
        (envelope(colour=1), "design key must be one of"),
        ('{"format": "limb and tint design", "version": 2, "note": NaN}', "design number must be"),
        ('{"format": "limb and tint design", "version": 2, "tint": {"a": 1e999}}', "design number"),
        ('{"a": 1, "a": 2}', "design key must be given once"),
        ('{"a": ' + "9" * 5000 + "}", "design file must be of readable numbers"),
        ("[" * 100_000, "design file must be nested"),
        ("[" * 40 + "]" * 40, "design file must be nested"),
        (" " * (LARGEST + 1), "design file must be at most"),
        (b"\xff\xfe\x00", "design file must be UTF-8"),
        (7, "design file must be text"),
    ],
)
def test_refused_with_the_reason(text: str, reason: str) -> None:
    with pytest.raises(ValueError, match=f"^{reason}.*; got "):
        read_design(text)


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"kind": "Limb"}, "Limb field must be one of"),
        ({"kind": "open"}, "limb kind must be one of"),
        ({"kind": ["Limb"]}, "limb kind must be one of"),
        ({"colour": 1}, "LimbPlan field must be one of"),
        ({"limb": None}, "limb must be a Limb"),
        ({"name": ""}, "limb name must be a text"),
        ({"wish": {"kind": "Wish", "share": 2}}, "share to keep must be a finite number"),
        ({"wish": {"kind": "Wish", "sag": "unlimited"}}, "sag allowed must be a finite number"),
    ],
)
def test_a_limb_that_is_not_one_is_refused(change: dict[str, object], reason: str) -> None:
    with pytest.raises(ValueError, match=f"^{reason}"):
        limb_plan_from({**plain(demo()), **change})


def test_a_missing_field_is_named() -> None:
    with pytest.raises(ValueError, match=r"^LimbPlan must be given with all its fields.*setting"):
        limb_plan_from({key: value for key, value in plain(demo()).items() if key != "setting"})


@pytest.mark.parametrize("value", [None, 3, "limb", [], {}])
def test_plain_data_that_is_no_limb(value: object) -> None:
    with pytest.raises(ValueError, match=r"^limb .*must be "):
        limb_plan_from(value)


@pytest.mark.parametrize("sign", ["\ud800", "\x00", "\x1b", "\u202e", "\u2066", "\u2028"])
def test_a_name_or_note_that_would_steer_or_turn_text_is_refused(sign: str) -> None:
    parts = {"name": "heron", "limbs": [], "tint": None, "note": "a\nb"}
    assert read_design(design_text(parts))["note"] == "a\nb"
    for key in ("name", "note"):
        with pytest.raises(Refused, match="control signs") as refused:
            design_text({**parts, key: f"heron{sign}"})
        assert refused.value.name == f"design {key}"
        assert str(refused.value).isprintable()
        raw = design_text(parts).replace('"heron"', f'"her{ascii(sign)[1:-1]}"')
        if key == "name" and sign != "\x00" and "\\x" not in raw:
            with pytest.raises(Refused):
                read_design(raw)


def test_a_file_is_written_whole_or_not_at_all_and_through_no_link(tmp_path: Path) -> None:
    goal, other = tmp_path / "sheet.html", tmp_path / "other.txt"
    other.write_text("mine")
    goal.symlink_to(other)
    write_whole(goal, "new")
    assert (goal.read_text(), other.read_text()) == ("new", "mine")
    with pytest.raises(UnicodeEncodeError):
        write_whole(goal, "\ud800")
    assert goal.read_text() == "new"
    assert {file.name for file in tmp_path.iterdir()} == {"sheet.html", "other.txt"}
