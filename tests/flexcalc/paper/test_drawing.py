"""Drawings: well-formed, to scale, readable when small, told apart without colour."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest

from flexcalc.forms.limb_form import plan_from_form
from flexcalc.limb.inputs import Elastomer, Limb, Metal, Wire
from flexcalc.limb.outline import DShape, Polygon, Round
from flexcalc.paper.pictures.anchor import anchor_drawing, anchor_sizes, anchor_words
from flexcalc.paper.pictures.cross_section import in_words, section_drawing, strand_centres
from flexcalc.paper.pictures.drawing import (
    inserted_line,
    limb_drawing,
    limb_outline,
    thickness_along,
)
from flexcalc.paper.pictures.svg import NOT_XML, escaped, fitting_scale, scale_bar
from flexcalc.section.section import limb_section

SVG = "{http://www.w3.org/2000/svg}"
TPU = Elastomer(
    name="TPU <85A> & co", elastic_modulus=35e6, density=1200.0, poisson_ratio=0.48,
    saturation_stress=5.5e6, relaxation_exponent=0.06,
)  # fmt: skip
METAL = Metal(
    name="annealed aluminium", elastic_modulus=69e9, strength_coefficient=180e6,
    hardening_exponent=0.2, density=2700.0,
)  # fmt: skip


def arc(curvature: float, length: float = 0.12, count: int = 101) -> np.ndarray:
    """A level limb that curls upward at once."""
    angle = curvature * np.linspace(0.0, length, count)
    return np.column_stack([np.sin(angle), 1 - np.cos(angle)]) / curvature


def numbers(data: str) -> np.ndarray:
    return np.array([float(word) for word in re.findall(r"-?[\d.]+", data)]).reshape(-1, 2)


def parsed(svg: str) -> ElementTree.Element:
    root = ElementTree.fromstring(svg)
    assert not re.search(r"nan|inf\b", re.sub(r"<text.*?</text>|<desc.*?</desc>", "", svg))
    width, height = root.get("width", ""), root.get("height", "")
    assert root.get("viewBox") == f"0 0 {width.removesuffix('mm')} {height.removesuffix('mm')}"
    assert root.get("role") == "img" and "max-width:100%" in root.get("style", "")
    assert [child.tag for child in root][:2] == [f"{SVG}title", f"{SVG}desc"]
    return root


def shapes(root: ElementTree.Element) -> list[ElementTree.Element]:
    return [e for e in root.iter(f"{SVG}path") if e.get("class", "").startswith("shape-")]


THREE = (arc(25.0), arc(23.0), arc(21.0))


def test_tips_lie_where_the_geometry_says() -> None:
    drawn = shapes(parsed(limb_drawing(*THREE, 0.012)))
    assert len(drawn) == 3
    for element, centre in zip(drawn, THREE, strict=True):
        corners = numbers(element.get("d", ""))
        half = len(corners) // 2
        middle = (corners[:half] + corners[half:][::-1]) / 2  # scale 1:1, y downward
        expected = (centre - centre[0]) * (1e3, -1e3)
        np.testing.assert_allclose(middle - middle[0], expected, atol=0.02)
        thick = np.hypot(*(corners[:half] - corners[half:][::-1]).T)
        np.testing.assert_allclose(thick, 12.0, atol=0.02)
        # half a limb above and below the root
        np.testing.assert_allclose(corners[0] - middle[0], (0.0, -6.0), atol=0.1)


def test_shapes_are_told_apart_by_dash_number_and_label() -> None:
    root = parsed(limb_drawing(*THREE, 0.012, labels=("set", "free", "rests")))
    assert len({element.get("stroke-dasharray") for element in shapes(root)}) == 3
    texts = [element.text for element in root.iter(f"{SVG}text")]
    assert texts[:3] == ["1", "2", "3"]
    assert texts[3:6] == ["1  set", "2  free", "3  rests"]
    colours = {e.get(key) for e in root.iter() for key in ("fill", "stroke")}
    assert colours == {"currentColor", "none", None}


def test_numbers_of_equal_shapes_do_not_lie_on_each_other() -> None:
    root = parsed(limb_drawing(THREE[0], THREE[0], THREE[0], 0.012))
    tags = [e for e in root.iter(f"{SVG}text") if e.text in ("1", "2", "3")]
    places = np.array([(float(e.get("x", "")), float(e.get("y", ""))) for e in tags])
    size = float(tags[0].get("font-size", ""))
    for i in range(3):
        for j in range(i):
            assert np.hypot(*(places[i] - places[j])) > 0.8 * size


@pytest.mark.parametrize("length", [0.002, 0.012, 0.06, 0.12, 0.3, 1.0, 10.0])
def test_everything_stays_on_the_paper_and_the_scale_bar_is_true(length: float) -> None:
    lines = [arc(k / length, length) for k in (2.5, 2.0, -1.5)]
    fan = [arc(k / length, length) for k in np.linspace(-2, -1, 7)]
    root = parsed(limb_drawing(*lines, length / 10, fan=fan, payload=0.03))
    width, height = (float(root.get(side, "").removesuffix("mm")) for side in ("width", "height"))
    assert 90 <= width <= 297 and height < 297
    for element in root.iter():
        points = np.empty((0, 2))
        if element.tag == f"{SVG}path":
            points = numbers(element.get("d", ""))
        elif element.tag == f"{SVG}line":
            points = np.array([float(element.get(k, "")) for k in ("x1", "y1", "x2", "y2")])
            points = points.reshape(2, 2)
        assert (points >= 0).all() and (points <= (width, height)).all(), element.attrib
    bar = next(e for e in root.iter(f"{SVG}g") if e.get("class") == "scale-bar")
    stroke = bar[0]
    drawn = float(stroke.get("x2", "")) - float(stroke.get("x1", ""))
    text = bar[-1].text or ""
    named, inches, first, second = (float(n) for n in re.findall(r"\d[\d.]*", text)[:4])
    assert inches * 25.4 == pytest.approx(named, rel=5e-3)
    corners = numbers(shapes(root)[0].get("d", ""))
    middle = (corners + corners[::-1]) / 2
    tip = np.hypot(*(middle[len(middle) // 2 - 1] - middle[0]))
    true = np.hypot(*(lines[0][-1] - lines[0][0])) * 1e3
    assert drawn / named == pytest.approx(tip / true, rel=0.01)
    assert drawn / named == pytest.approx(first / second, rel=0.01)


def test_a_limb_that_leaves_its_plane_is_seen_from_two_sides_to_one_scale() -> None:
    """A limb of known points: both views show the same lengths along the limb's own axis."""
    flat = np.array([[0.0, 0.0, 0.0], [0.05, 0.0, 0.0], [0.1, 0.03, 0.0], [0.12, 0.06, -0.02]])
    set_to = flat * [1, -1, 1]
    root = parsed(limb_drawing(set_to, flat, flat, 0.01, fan=[flat], from_above=True))
    drawn = [numbers(element.get("d", "")) for element in shapes(root)]
    assert len(drawn) == 6
    scale = 1e3 * 0.5
    # paper's y runs down; the middles between both sides of the tip
    tips = [(body[len(body) // 2 - 1] + body[len(body) // 2]) / 2 for body in drawn]
    roots = [(body[0] + body[-1]) / 2 for body in drawn]
    side, above = (tips[2] - roots[2]) / scale, (tips[5] - roots[5]) / scale
    assert side == pytest.approx([0.12, 0.02], abs=2e-5)
    assert above == pytest.approx([0.12, -0.06], abs=2e-5)
    assert (tips[3] - roots[3]) / scale == pytest.approx([0.12, 0.06], abs=2e-5)
    assert min(body[:, 1].min() for body in drawn[3:]) > max(body[:, 1].max() for body in drawn[:3])
    texts = [element.text for element in root.iter(f"{SVG}text")]
    assert "from the side" in texts and "from above" in texts
    assert sum(element.get("class") == "outcome" for element in root.iter()) == 2


def test_a_limb_seen_end_on_is_drawn_too() -> None:
    hanging = np.stack([np.zeros(5), np.zeros(5), -np.linspace(0, 0.1, 5)], axis=1)
    root = parsed(limb_drawing(hanging, hanging, hanging, 0.01, from_above=True))
    assert len(shapes(root)) == 6
    with pytest.raises(ValueError, match="in space"):
        limb_drawing(*THREE, 0.012, from_above=True)


def test_the_anchored_end_is_drawn_to_scale() -> None:
    wire = Wire(metal=METAL, diameter=0.002)
    limb = Limb(elastomer=TPU, outline=Round(diameter=0.012), length=0.1, wire=wire,
                channel_diameter=0.0024)  # fmt: skip
    leg, slot = anchor_sizes(limb)
    assert (leg, slot) == (pytest.approx(0.006, rel=1e-4), pytest.approx(0.0022))
    paths = [element for element in parsed(anchor_drawing(limb)).iter(f"{SVG}path")]
    bent = numbers(paths[2].get("d", ""))
    body = numbers(paths[0].get("d", ""))
    scale = np.ptp(body[:, 1]) / 12
    assert scale in (1.0, 2.0, 5.0)
    # from the wire's underside to the end of its leg: half the wire, and the leg
    assert np.ptp(bent[:, 1]) == pytest.approx(scale * 7, abs=0.02)
    assert "2.2 mm" in anchor_words(limb)
    with pytest.raises(ValueError, match="limb wire must be"):
        anchor_drawing(replace(limb, wire=None))


def test_letters_are_readable_on_a_phone() -> None:
    """A drawing of 350 px (a phone less its margins) has letters of 11 px or more."""
    for svg in (
        limb_drawing(*THREE, 0.012),
        limb_drawing(*(arc(8.0, 0.3),) * 3, 0.012),
        section_drawing(limb()),
        section_drawing(limb(outline=DShape(diameter=0.03, flat_height=0.004))),
    ):
        root = parsed(svg)
        width = float(root.get("width", "").removesuffix("mm"))
        sizes = {float(e.get("font-size", "")) for e in root.iter(f"{SVG}text")}
        shown = min(350.0, width / 25.4 * 96)
        assert min(sizes) / width * shown >= 11


def test_payload_fan_and_clamp_are_marked() -> None:
    plain = parsed(limb_drawing(*THREE, 0.012))
    full = parsed(limb_drawing(*THREE, 0.012, payload=0.035, fan=[arc(22.0), arc(20.0)]))

    def count(root: ElementTree.Element, kind: str) -> int:
        return sum(element.get("class") == kind for element in root.iter())

    assert [count(plain, kind) for kind in ("clamp", "payload", "outcome")] == [1, 0, 0]
    assert [count(full, kind) for kind in ("clamp", "payload", "outcome")] == [1, 2, 2]
    texts = [element.text for element in full.iter(f"{SVG}text")]
    assert "35 g at the tip" in texts and "other likely outcomes" in texts
    outcome = next(e for e in full.iter() if e.get("class") == "outcome")
    assert float(outcome.get("stroke-opacity", "")) < 0.5
    ends = numbers(outcome.get("d", ""))[[0, -1]]
    np.testing.assert_allclose(ends[1] - ends[0], arc(22.0)[-1] * (1e3, -1e3), atol=0.02)


def test_clamp_is_hatched_behind_the_root() -> None:
    root = parsed(limb_drawing(*THREE, 0.012))  # leaves to the right
    clamp = next(e for e in root.iter(f"{SVG}g") if e.get("class") == "clamp")
    wall, *hatch = list(clamp)
    assert float(wall.get("x1", "")) == pytest.approx(float(wall.get("x2", "")), abs=0.3)
    assert all(float(e.get("x2", "")) < float(wall.get("x1", "")) - 1 for e in hatch)


def test_user_texts_are_escaped() -> None:
    name = '<script>alert("1")</script> & \x00 \ud800'
    root = parsed(limb_drawing(*THREE, 0.012, name=name, summary=name, labels=(name[:30],) * 3))
    assert root[0].text == '<script>alert("1")</script> & \ufffd \ufffd'
    assert not list(root.iter(f"{SVG}script"))
    drawn = section_drawing(limb(), name=name)
    assert "<script" not in drawn and "TPU &lt;85A&gt; &amp; co" in drawn
    parsed(drawn)
    assert not NOT_XML.search(escaped(name))


def test_outline_of_a_straight_and_of_a_folded_line() -> None:
    straight = limb_outline(np.array([[0.0, 0.0], [1.0, 0.0], [2.0, 0.0]]), 0.5)
    assert straight.tolist() == [
        [0, 0.25],
        [1, 0.25],
        [2, 0.25],
        [2, -0.25],
        [1, -0.25],
        [0, -0.25],
    ]
    cone = limb_outline(np.array([[0.0, 0.0], [1.0, 0.0], [2.0, 0.0]]), [0.6, 0.2])
    np.testing.assert_allclose(cone[:3], [[0.0, 0.3], [1.0, 0.2], [2.0, 0.1]], atol=1e-12)
    folded = limb_outline(np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 0.0]]), 0.5)
    assert np.isfinite(folded).all()


def test_arguments_are_left_alone() -> None:
    given = [each.copy() for each in THREE]
    limb_drawing(*given, 0.012)
    for before, after in zip(THREE, given, strict=True):
        np.testing.assert_array_equal(before, after)


def limb(**given: object) -> Limb:
    values = {
        "elastomer": TPU, "outline": Round(diameter=0.012), "length": 0.12, "wall": 0.0012,
        "infill": 0.15, "channel_diameter": 0.003, "channel_offset": (0.0, 0.001),
        "sleeve": 0.0008, "wire": Wire(metal=METAL, diameter=0.002),
    }  # fmt: skip
    return Limb(**{**values, **given})  # type: ignore[arg-type]


def test_section_is_drawn_to_scale() -> None:
    root = parsed(section_drawing(limb()))
    by_class = {e.get("class"): e for e in root.iter() if e.get("class")}
    solid = numbers(by_class["solid"].get("d", ""))
    assert np.ptp(solid, axis=0) == pytest.approx([60, 60], abs=0.05)  # 12 mm at 5:1
    wire = by_class["wire"]
    assert float(wire.get("r", "")) == pytest.approx(5.0, abs=0.01)
    middle = (solid.max(axis=0) + solid.min(axis=0)) / 2
    place = (float(wire.get("cx", "")), float(wire.get("cy", "")))
    assert place == pytest.approx((middle[0], middle[1] - 5.0), abs=0.02)  # 1 mm up
    core = numbers(by_class["core"].get("d", ""))
    assert np.ptp(core, axis=0) == pytest.approx([48, 48], abs=0.05)
    hatch = numbers(by_class["infill"].get("d", ""))
    assert np.hypot(*(hatch - middle).T).max() <= 24.02
    hole = np.hypot(*(hatch - place).T).min()
    assert hole >= (1.5 + 0.8) * 5 - 0.05


def test_section_names_its_dimensions() -> None:
    given = limb(channel_roofed=True, wire=Wire(metal=METAL, diameter=0.0012, strands=3))
    words = " ".join(e.text or "" for e in parsed(section_drawing(given)).iter(f"{SVG}text"))
    for expected in (
        "12 mm (0.472 in)", "wall 1.2 mm (0.0472 in), infill 15 %", "channel 3 mm (0.118 in)",
        "45 degree roof", "sleeve 0.8 mm", "wire 3 x 1.2 mm", "annealed aluminium",
    ):  # fmt: skip
        assert expected in words
    solid = limb(wall=None, infill=0.2, sleeve=0.0, channel_diameter=0.0, wire=None)
    assert "solid" in section_drawing(solid)
    assert in_words(0.0254) == "25.4 mm (1 in)"


def test_denser_infill_is_hatched_closer() -> None:
    thin, dense = (section_drawing(limb(infill=share)).count("M") for share in (0.05, 0.8))
    assert dense > 1.5 * thin


@pytest.mark.parametrize("strands", range(1, 8))
def test_strands_touch_and_fill_their_bundle(strands: int) -> None:
    wire = Wire(metal=METAL, diameter=0.001, strands=strands)
    centres = strand_centres(wire, (0.001, -0.002))
    assert len(centres) == strands
    assert centres.mean(axis=0) == pytest.approx([0.001, -0.002])
    reach = np.hypot(*(centres - (0.001, -0.002)).T).max() + 0.0005
    assert 2 * reach == pytest.approx(wire.bundle_diameter, rel=1e-5)
    gaps = [math.dist(a, b) for i, a in enumerate(centres) for b in centres[:i]]
    assert not gaps or min(gaps) == pytest.approx(0.001, rel=1e-9)


def test_long_names_are_wrapped_and_odd_outlines_drawn() -> None:
    metal = Metal(
        name="x" * 80, elastic_modulus=69e9, strength_coefficient=180e6,
        hardening_exponent=0.2, density=2700.0,
    )  # fmt: skip
    far = Polygon(points=((0.2, 0.2), (0.23, 0.2), (0.23, 0.201), (0.2, 0.202)))
    for given in (
        limb(wire=Wire(metal=metal, diameter=0.002)),
        Limb(elastomer=TPU, outline=far, length=0.1, wall=0.0002, infill=0.3),
        Limb(elastomer=TPU, outline=Round(diameter=0.3), length=0.1),
        Limb(elastomer=TPU, outline=Round(diameter=5e-4), length=0.1),
    ):
        root = parsed(section_drawing(given))
        width = float(root.get("width", "").removesuffix("mm"))
        for element in root.iter(f"{SVG}text"):
            size = float(element.get("font-size", ""))
            start = float(element.get("x", ""))
            if element.get("text-anchor") == "start":
                assert start + 0.6 * size * len(element.text or "") < 1.05 * width


def test_scales_are_the_usual_ones() -> None:
    assert [fitting_scale(size, 100) for size in (0.1, 0.11, 0.02, 0.001)] == [1, 0.5, 5, 50]
    assert fitting_scale(1000.0, 100) == pytest.approx(1e-4)
    assert "20 mm = 0.787 in, scale 1:2" in scale_bar(0, 0, 12, 0.5, 3)


@pytest.mark.parametrize(
    ("arguments", "given", "words"),
    [
        ((THREE[0][:, :1], *THREE[1:], 0.01), {}, "positions as set must be of shape"),
        ((*THREE[:2], [[0, 0]], 0.01), {}, "positions at rest must be of shape"),
        ((*THREE[:2], [[0, math.nan], [1, 1]], 0.01), {}, "positions at rest must be"),
        ((THREE[0], np.zeros((5, 2)), THREE[2], 0.01), {}, "positions let go must be more than"),
        ((*THREE, -0.01), {}, "limb thickness must be"),
        ((*THREE, 0.01), {"fan": 3}, "fan must be a sequence"),
        ((*THREE, 0.01), {"fan": [[1, 2, 3]]}, "fan positions must be of shape"),
        ((*THREE, 0.01), {"fan": [THREE[0]] * 301}, "fan must be at most"),
        ((*THREE, 0.01), {"labels": ("a", "b")}, "labels must be three texts"),
        ((*THREE, 0.01), {"labels": ("a", "b", "c" * 50)}, "labels must be a text"),
        ((*THREE, 0.01), {"name": 5}, "name must be a text"),
        ((*THREE, 0.01), {"payload": math.inf}, "payload must be"),
    ],
)
def test_refusals(arguments: tuple[object, ...], given: dict[str, object], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        limb_drawing(*arguments, **given)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="limb must be a Limb"):
        section_drawing("tube")  # type: ignore[arg-type]


def test_a_tapered_limb_tapers_and_its_printed_curve_is_drawn() -> None:
    """Printed round 200 mm: with its straight wire it is straighter, and stands at the clamp."""
    plan = plan_from_form(
        {"outline": "round", "diameter": "12", "tip_diameter": "8", "curl_root": "200",
         "curl_tip": "200", "wire": "1.2"}
    )  # fmt: skip
    heights = thickness_along(plan.limb)
    assert heights[0] / heights[-1] == pytest.approx(1.5)
    assert heights[10] == pytest.approx(2 * limb_section(plan.limb).extreme_fibre)
    line = inserted_line(plan.limb, plan.setting)
    assert line is not None
    first = line[1] - line[0]
    clamp = plan.setting.clamp_angle
    assert first / np.linalg.norm(first) == pytest.approx(
        [math.sin(clamp), 0.0, -math.cos(clamp)], abs=0.01
    )
    last = line[-1] - line[-2]
    turned = math.atan2(last[0], -last[2]) - clamp
    assert 0.05 < turned < 0.9 * 0.16 / 0.2
    root = parsed(limb_drawing(*THREE, heights, inserted=line))
    assert len(root.findall(".//*[@class='inserted']")) == 1
    assert any("straight wire" in (each.text or "") for each in root.iter())
    assert inserted_line(plan_from_form({}).limb, plan.setting) is None
