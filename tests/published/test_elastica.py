"""Elastica under dead loads: published problems, values computed to twelve digits elsewhere.

Problems: K.E. Bisshopp & D.C. Drucker, Quart. Appl. Math. 3 (1945) 272-275; K. Mattiasson, Int.
J. Num. Meth. Eng. 17 (1981) 145-153; F.V. Rohde, Quart. Appl. Math. 11 (1953) 337-338; T.M. Wang,
S.L. Lee & O.C. Zienkiewicz, Int. J. Mech. Sci. 3 (1961) 219; Greenhill 1881 (all cited from
memory). Values: computed, elliptic integrals to 40 digits, Taylor shooting to 30 digits, Chebyshev
collocation and a boundary value solver agree. Tolerance 1e-8 as given with them.
"""

from __future__ import annotations

import numpy as np
import pytest

from flexcalc.rod.rest import RestShape, rest_shape
from tests.columns import buckling_tip_load, buckling_weight

TOLERANCE = 1e-8
RIGIDITY, LENGTH = 0.0021, 0.13  # N m2, m; not 1, so that a lost factor shows

# P L2/EI; clamped level: shortening u/L, drop w/L, turn of the tip, root moment M0 L/EI
TIP_LOAD = [
    (0.2, 0.00264654834052, 0.0663644821448, 0.0996361630374, 0.199470690332),
    (0.5, 0.0159189624708, 0.162143575658, 0.244533647133, 0.492040518765),
    (6, 0.434588828682, 0.74457114889, 1.2836972858, 3.39246702791),
    (7, 0.472927428386, 0.76736909974, 1.33495985747, 3.6895080013),
    (9, 0.531820562673, 0.799055527471, 1.40546533362, 4.21361493595),
    (10, 0.554995597754, 0.81060902488, 1.4302855388, 4.45004402246),
]
# clamp from gravity, P L2/EI, w L3/EI; x/L, drop/L, tip angle, along and across the clamped
# direction over L, root moment M0 L/EI
INCLINED = [
    (
        30,
        1,
        0,
        0.389730678095,
        0.919377264677,
        0.342343934725,
        0.991069405919,
        0.122171964474,
        0.389730678095,
    ),
    (
        30,
        5,
        0,
        0.226070694547,
        0.967121913818,
        0.111455156029,
        0.950587493196,
        0.28777799238,
        1.13035347273,
    ),
    (
        60,
        1,
        0,
        0.724378713727,
        0.68191189729,
        0.703840769487,
        0.968286316693,
        0.228363669333,
        0.724378713727,
    ),
    (
        120,
        1,
        0,
        0.970459257556,
        -0.191205316997,
        1.59990485197,
        0.93604502888,
        0.31964096692,
        0.970459257556,
    ),
    (
        120,
        5,
        0,
        0.741903510504,
        0.504606800994,
        0.503183124692,
        0.390203886756,
        0.807954063835,
        3.70951755252,
    ),
    (
        150,
        5,
        0,
        0.809595723754,
        0.24826323334,
        0.687889534744,
        0.189795594979,
        0.825262080236,
        4.04797861877,
    ),
    (
        30,
        2,
        8,
        0.209840797565,
        0.97152716425,
        0.114567591481,
        0.946287603489,
        0.304036120684,
        1.48246544238,
    ),
    (
        60,
        0,
        2,
        0.755341571377,
        0.651581160681,
        0.797873834793,
        0.979935569687,
        0.186615052089,
        0.778668506313,
    ),
    (
        60,
        0,
        10,
        0.459331818187,
        0.867337076801,
        0.328601035285,
        0.831461561717,
        0.52147003306,
        2.71048732445,
    ),
    (
        60,
        1,
        2,
        0.63277071225,
        0.761439620881,
        0.552571531964,
        0.92871532202,
        0.343040699006,
        1.32216250106,
    ),
    (
        90,
        0,
        2,
        0.966892946896,
        0.238506582873,
        1.24920252913,
        0.966892946896,
        0.238506582873,
        0.976742715095,
    ),
    (
        90,
        1,
        2,
        0.863085481869,
        0.464476430703,
        0.876190448936,
        0.863085481869,
        0.464476430703,
        1.77146015718,
    ),
    (
        90,
        2,
        8,
        0.581398514023,
        0.747392056344,
        0.368002476374,
        0.581398514023,
        0.747392056344,
        3.96111905695,
    ),
    (
        150,
        0,
        10,
        0.8991857274,
        0.121139931877,
        1.06840568342,
        0.344682605282,
        0.839287648587,
        4.44334409125,
    ),
    (
        150,
        1,
        2,
        0.839799638204,
        -0.497753136678,
        1.87740964946,
        0.850966680279,
        0.478411252435,
        1.61290935353,
    ),
    (
        150,
        2,
        8,
        0.809100204194,
        0.302615141026,
        0.729356939286,
        0.142477702398,
        0.852008901552,
        5.0144553718,
    ),
]
# clamp from gravity, P L2/EI, w L3/EI, kappa0 L; x/L, drop/L, tip angle, sag/L of the tip, M0 L/EI
CURVED = [
    (
        0,
        0,
        5,
        -2.0,
        -0.558110881098,
        0.712273371229,
        -1.52697317666,
        0.257624657816,
        -0.94040870507,
    ),
    (90, 1, 2, 0.8, 0.982660417461, 0.170439844049, 1.55326504147, 0.549556457364, 1.96482623203),
    (
        90,
        1,
        2,
        -1.5,
        0.478015187604,
        0.737438243866,
        -0.223583473801,
        0.117929711644,
        1.17394302584,
    ),
    (
        60,
        0.5,
        1,
        -2.0,
        0.0512675556099,
        0.852084829872,
        -0.901932451574,
        0.011550905196,
        0.196420890216,
    ),
    (
        150,
        0.5,
        2,
        1.0,
        0.0184213196884,
        -0.953768137332,
        3.64947627155,
        0.00481595912525,
        0.199201181502,
    ),
    (
        150,
        0,
        1,
        -3.0,
        0.551930291753,
        0.337368068201,
        -0.492982965179,
        0.0464404894215,
        0.377393513343,
    ),
]
# clamp, P L2/EI0, w0 L3/EI0, c of EI = EI0 (1 - c s/L)^4, w = w0 (1 - c s/L)^2; x/L, drop/L, tip
# angle, M0 L/EI0
TAPERED = [
    (90, 1, 2, 0.3, 0.83170644241, 0.49459355418, 0.72658421896, 1.4169099493),
    (90, 0.5, 2, 0.5, 0.88591708883, 0.40217342961, 0.81519152183, 0.87861559247),
    (60, 0.5, 2, 0.5, 0.66421947264, 0.72930643161, 0.5098985375, 0.67620925988),
]


def shape(clamp: float, tip: float, weight: float, curl: float = 0.0) -> RestShape:
    return rest_shape(
        RIGIDITY,
        LENGTH,
        np.radians(clamp),
        tip * RIGIDITY / LENGTH**2,
        weight * RIGIDITY / LENGTH**3,
        curl / LENGTH,
    )


def found(rest: RestShape) -> list[float]:
    x, y = rest.tip_position / LENGTH
    return [x, -y, rest.angles[-1], rest.root_moment * LENGTH / RIGIDITY]


@pytest.mark.parametrize(("tip", "short", "drop", "turn", "moment"), TIP_LOAD)
def test_level_cantilever_with_a_tip_load(
    tip: float, short: float, drop: float, turn: float, moment: float
) -> None:
    expected = [1 - short, drop, np.pi / 2 - turn, moment]
    assert found(shape(90, tip, 0)) == pytest.approx(expected, abs=TOLERANCE)


@pytest.mark.parametrize(
    ("clamp", "tip", "weight", "x", "drop", "angle", "along", "across", "moment"), INCLINED
)
def test_inclined_with_tip_load_and_own_weight(
    clamp: float,
    tip: float,
    weight: float,
    x: float,
    drop: float,
    angle: float,
    along: float,
    across: float,
    moment: float,
) -> None:
    rest = shape(clamp, tip, weight)
    assert found(rest) == pytest.approx([x, drop, angle, moment], abs=TOLERANCE)
    sine, cosine = np.sin(np.radians(clamp)), np.cos(np.radians(clamp))
    right, up = rest.tip_position / LENGTH
    assert [right * sine - up * cosine, -right * cosine - up * sine] == pytest.approx(
        [along, across], abs=TOLERANCE
    )


@pytest.mark.parametrize(
    ("clamp", "tip", "weight", "curl", "x", "drop", "angle", "sag", "moment"), CURVED
)
def test_posed_before_it_is_loaded(
    clamp: float,
    tip: float,
    weight: float,
    curl: float,
    x: float,
    drop: float,
    angle: float,
    sag: float,
    moment: float,
) -> None:
    rest = shape(clamp, tip, weight, curl)
    assert found(rest) == pytest.approx([x, drop, angle, moment], abs=TOLERANCE)
    unloaded = shape(clamp, 0, 0, curl)
    fall = (unloaded.tip_position - rest.tip_position)[1] / LENGTH
    assert fall == pytest.approx(sag, abs=TOLERANCE)


@pytest.mark.parametrize(
    ("clamp", "tip", "weight", "taper", "x", "drop", "angle", "moment"), TAPERED
)
def test_tapered_round_rod(
    clamp: float,
    tip: float,
    weight: float,
    taper: float,
    x: float,
    drop: float,
    angle: float,
    moment: float,
) -> None:
    rest = rest_shape(
        lambda share: RIGIDITY * (1 - taper * share) ** 4,
        LENGTH,
        np.radians(clamp),
        tip * RIGIDITY / LENGTH**2,
        lambda share: weight * RIGIDITY / LENGTH**3 * (1 - taper * share) ** 2,
    )
    assert found(rest) == pytest.approx([x, drop, angle, moment], abs=TOLERANCE)


def test_wire_that_stops_before_the_tip() -> None:
    """EI0 up to 0.85 of the length, 0.02 EI0 beyond."""
    rest = rest_shape(
        lambda share: RIGIDITY * np.where(share < 0.85, 1.0, 0.02),
        LENGTH,
        np.pi / 2,
        0.05 * RIGIDITY / LENGTH**2,
        0.3 * RIGIDITY / LENGTH**3,
        breaks=(0.85,),
    )
    expected = [0.99798165465, 0.057673152229, 1.4603245341, 0.19972202966]
    assert found(rest) == pytest.approx(expected, abs=TOLERANCE)


@pytest.mark.parametrize(
    ("turn", "x", "w"),
    [
        (0.5, 0.958851077208, 0.244834876219),
        (np.pi / 2, 0.636619772368, 0.636619772368),
        (2 * np.pi, 0.0, 0.0),
    ],
)
@pytest.mark.parametrize("clamp", [0.0, 70.0, 180.0])
def test_couple_at_the_tip_bends_to_an_arc(turn: float, x: float, w: float, clamp: float) -> None:
    """Pure bending; the couple m is natural curvature m/EI. Tolerance 1e-10 as given."""
    rest = shape(clamp, 0, 0, turn)
    right, up = rest.tip_position / LENGTH
    sine, cosine = np.sin(np.radians(clamp)), np.cos(np.radians(clamp))
    assert right * sine - up * cosine == pytest.approx(x, abs=1e-10)
    assert right * cosine + up * sine == pytest.approx(w, abs=1e-10)
    assert rest.angles[-1] == pytest.approx(np.radians(clamp) + turn, abs=1e-10)


def test_small_load_limit() -> None:
    """P L3/3EI at P L2/EI 0.001, less its own second order; tolerance 1e-8 relative as given."""
    _, drop, _, _ = found(shape(90, 0.001, 0))
    assert drop == pytest.approx(0.000333333295238, rel=1e-8)


def test_critical_loads_of_a_column() -> None:
    """Euler; Greenhill's first zero of J(-1/3). Tolerance 1e-10 relative as given."""
    assert buckling_tip_load(RIGIDITY, LENGTH) == pytest.approx(
        2.46740110027 * RIGIDITY / LENGTH**2, rel=1e-10
    )
    assert buckling_weight(RIGIDITY, LENGTH) == pytest.approx(
        7.83734743894 * RIGIDITY / LENGTH**3, rel=1e-10
    )
