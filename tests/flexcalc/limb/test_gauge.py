"""Lengths as they are typed: what is read, what is refused, what is shown."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flexcalc.limb.gauge import gauge_diameter, parse_length, show_length
from flexcalc.limb.trade import gauge_of

READ = {
    "1.6": 1.6, "1,5": 1.5, "1.6 mm": 1.6, "1.6mm": 1.6, " 1.6  MM ": 1.6, ".5": 0.5, ",5": 0.5,
    "5.": 5, "0,500": 0.5, "2 cm": 20, "0.12 m": 120, "50 µm": 0.05, "50 μm": 0.05, "50um": 0.05,
    "1e-3 m": 1, "0.5 in": 12.7, "0,5 inch": 12.7, "2 inches": 50.8, '0.25"': 6.35,
    "1/16 in": 1.5875,
    '3/32"': 2.38125, "3/32''": 2.38125, "3/32″": 2.38125, "3⁄32 in": 2.38125, "1 1/2 in": 38.1,
    "1-1/2 in": 38.1, "1½ in": 38.1, '½"': 12.7, "3/4 mm": 0.75, "SWG 16": 1.6256, "16 SWG": 1.6256,
    "swg16": 1.6256, "SWG-16": 1.6256, "SWG #16": 1.6256, "SWG 2/0": 8.8392, "SWG 00": 8.8392,
    "SWG 1/0": 8.2296, "SWG 0": 8.2296, "4/0 SWG": 10.16,
}  # fmt: skip
REFUSED = {
    "": "length such as", "  ": "length such as", "wire": "length such as", "mm": "length such as",
    "nan": "length such as", "inf": "length such as", "1..5": "length such as",
    "5 ft": "length such as",
    "1.6 mm 3": "length such as", "1 500": "length such as", "1²": "length such as",
    "1.6 mm²": "length such as", "٣ mm": "length such as", "AWG": "length such as",
    "AWG 14.5": "length such as", "AWG -1": "length such as", "\x00": "length such as",
    "1/2/3 in": "length such as", "0x10": "length such as", "1_0": "length such as",
    "-1": "without a sign", "-1/16 in": "without a sign", "+2": "without a sign",
    "−2": "without a sign", "0": "above 0", "0.0 in": "above 0", "0/4 in": "above 0",
    "1e-999": "above 0", "1e999": "at most 1000 m", "1001 m": "at most 1000 m",
    "9" * 58 + "/1": "with its unit", "9" * 56 + "/1 m": "at most 1000 m", "1/0 in": "divisor",
    "1/16": "with its unit", "14 gauge": "AWG or SWG", "14 ga": "AWG or SWG", "14ga": "AWG or SWG",
    "gauge 14": "AWG or SWG", "14-gauge": "AWG or SWG", "14g": "AWG or SWG", "#14": "AWG or SWG",
    "BWG 14": "AWG or SWG", "AWG 41": "4/0 to 40", "AWG 5/0": "4/0 to 40", "SWG 00000": "4/0 to 40",
    "AWG 99999": "4/0 to 40", "1,500": "thousands", "1,500 mm": "thousands", "12,345": "thousands",
    "1,234.5": "thousands", "1.234,5": "thousands", "1,234,567": "thousands", "1'500": "thousands",
    "9" * 61: "60 characters",
}  # fmt: skip


@pytest.mark.parametrize(("text", "millimetres"), READ.items())
def test_read(text: str, millimetres: float) -> None:
    assert parse_length(text) == pytest.approx(millimetres * 1e-3, rel=1e-12)


def test_a_gauge_is_read_as_its_diameter() -> None:
    assert parse_length("AWG 14") == parse_length("awg14") == gauge_diameter("AWG", 14)
    assert parse_length("AWG 2/0") == parse_length("AWG 00") == gauge_diameter("AWG", -1)


@pytest.mark.parametrize(("text", "rule"), REFUSED.items())
def test_refused(text: str, rule: str) -> None:
    with pytest.raises(ValueError, match=rf"^length must be .*{rule}.*; got "):
        parse_length(text)


@pytest.mark.parametrize("value", [None, 5, 1.6, b"1.6", ["1.6"], math.nan])
def test_only_text_is_read(value: object) -> None:
    with pytest.raises(ValueError, match=r"^wire diameter must be"):
        parse_length(value, name="wire diameter")  # type: ignore[arg-type]


@settings(max_examples=500, deadline=None)
@given(st.text(max_size=70) | st.from_regex(r"\A[0-9.,/ eE#'\"wgainm-]{0,12}\Z"))
def test_any_text_is_a_length_or_a_refusal(text: str) -> None:
    try:
        length = parse_length(text)
    except ValueError as error:
        assert str(error).startswith("length must be ")
    else:
        assert 0 < length <= 1000


@given(st.floats(1e-6, 100))
def test_what_is_shown_is_read_back(length: float) -> None:
    millimetres, inches = show_length(length).split(" = ")
    assert parse_length(millimetres) == pytest.approx(length, rel=5e-3, abs=5.1e-7)
    assert parse_length(inches) == pytest.approx(length, rel=5e-3, abs=1.3e-6)


@pytest.mark.parametrize(
    ("length", "shown"),
    [
        (gauge_diameter("AWG", 14), "1.628 mm = 0.0641 in"),
        (0.12, "120 mm = 4.7244 in"),
        (0.0, "0 mm = 0 in"),
        (-0.003, "-3 mm = -0.1181 in"),
        (2e-8, "2e-05 mm = 7.87e-07 in"),
    ],
)
def test_shown(length: float, shown: str) -> None:
    assert show_length(length) == shown


@pytest.mark.parametrize("value", [math.nan, math.inf, 1e9, "1", None])
def test_only_a_length_is_shown(value: object) -> None:
    with pytest.raises(ValueError, match=r"^length must be a finite number"):
        show_length(value)  # type: ignore[arg-type]


@pytest.mark.parametrize("system", ["BWG", "", None, 14])
def test_unknown_system_names_the_known_ones(system: object) -> None:
    with pytest.raises(ValueError, match="gauge system must be one of AWG, SWG; got"):
        gauge_diameter(system, 14)  # type: ignore[arg-type]


@pytest.mark.parametrize("system", ["AWG", "swg"])
@pytest.mark.parametrize("number", [-4, 41, 14.5, math.nan, math.inf, "14", None, True, 10**400])
def test_impossible_number(system: str, number: object) -> None:
    with pytest.raises(ValueError, match=r"^gauge number must be .*; got"):
        gauge_diameter(system, number)  # type: ignore[arg-type]


@pytest.mark.parametrize("system", ["AWG", "SWG"])
def test_a_higher_number_is_a_thinner_wire(system: str) -> None:
    diameters = [gauge_diameter(system, number) for number in range(-3, 41)]
    assert all(thin < thick for thick, thin in itertools.pairwise(diameters))


def test_the_systems_differ_where_it_matters() -> None:
    assert gauge_diameter("SWG", 12) / gauge_diameter("AWG", 12) == pytest.approx(1.287, abs=1e-3)


@pytest.mark.parametrize("typed", ["AWG 4/0", "AWG 1/0", "AWG 36", "SWG 3/0", "SWG 7"])
def test_every_gauge_is_known_by_its_diameter(typed: str) -> None:
    gauge = gauge_of(parse_length(typed))
    assert gauge is not None and gauge.name == typed
    assert gauge_of(parse_length(typed) * (1 + 1e-9)) is None
