"""The row of the swatch log: what it admits, and its ways out and back."""

from __future__ import annotations

import dataclasses
import json
import math
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from data.rules import TURNING
from tinting.learn.repeats import drying_words, mean_swatches
from tinting.log.record import (
    READING_ERROR,
    SwatchRecord,
    record_fields,
    record_from_fields,
    swatch_of_record,
)

PLAIN: dict[str, Any] = {
    "base_name": "natural 85A",
    "base_lab": (82.5, -0.5, 6.25),
    "lab": (55.0, -20.5, 30.25),
    "shares": {"reed green": 0.125, "brown": 0.05},
    "coats": 2,
}


def record(**changes: Any) -> SwatchRecord:
    return SwatchRecord(**{**PLAIN, **changes})


def test_a_row_cannot_be_changed_and_keeps_its_own_copy() -> None:
    shares = {"reed green": 0.125}
    row = record(shares=shares)
    shares["reed green"] = 0.9
    assert row.shares == {"reed green": 0.125}
    with pytest.raises(dataclasses.FrozenInstanceError):
        row.coats = 3  # type: ignore[misc]
    with pytest.raises(TypeError):
        row.shares["brown"] = 0.1  # type: ignore[index]
    assert record().id != record().id


def test_times_are_kept_in_one_zone() -> None:
    zone = timezone(timedelta(hours=2))
    row = record(made_at=datetime(2025, 5, 31, 16, 5, tzinfo=zone))
    assert row.made_at == datetime(2025, 5, 31, 14, 5, tzinfo=UTC)
    assert row.made_at.utcoffset() == timedelta(0)


def test_the_way_of_measuring_says_what_it_is_worth() -> None:
    assert [record(method=method).error for method in READING_ERROR] == [0.4, 2.0, 5.0, 2.0, 4.0]


@pytest.mark.parametrize(
    ("field", "values", "said"),
    [
        ("base_name", ["", "  ", "x" * 81, None, 5, "a\nb", "\ud800"], "base name must be"),
        ("base_lab", [(101, 0, 0), (1, 2), "abc", None, (1, 2, float("nan"))], "base lab must be"),
        ("lab", [(50, 300, 0), [[1, 2, 3]], {}, (1, 2, float("inf"))], "swatch lab must be"),
        ("shares", [None, [1], {"": 0.1}, {"a": 0.6, "b": 0.6}], "must be"),
        ("shares", [{"a": -0.1}, {"a": "1"}, {"a": float("nan")}], "swatch share of a must be"),
        ("shares", [{5: 0.1}, {"a\n": 0.1}], "dye name must be"),
        ("shares", [{f"dye {i}": 0.01 for i in range(21)}], "swatch shares must be"),
        ("coats", [-1, 51, 1.5, None, "2", True], "swatch coats must be"),
        ("base_kind", ["clear", None, 3], "base kind must be"),
        ("thickness", [0, -1, 2, None, float("inf")], "base thickness must be"),
        ("backing", ["grey", None], "base backing must be"),
        ("alcohol_grade", [-0.1, 1.1, 99, None], "alcohol grade must be"),
        ("drying_time", [-1, 1e12, float("nan"), "30"], "drying time must be"),
        ("light", ["D66", None, 65], "swatch light must be"),
        ("observer", [5, None, "10", True], "swatch observer must be"),
        ("geometry", ["sideways", None], "swatch geometry must be"),
        ("method", ["guess", None], "swatch method must be"),
        ("note", [None, 5, "x" * 4001, "a\0b", "\udc00", "\x1b[2J"], "swatch note must be"),
        ("photo", ["../a.jpg", "/a.jpg", "a\\b", ".hidden", None, "x" * 101], "swatch photo must"),
        ("used", [None, 1, "yes"], "swatch used must be"),
        ("id", ["", "7", None, "A" * 36, "{" + "a" * 34 + "}"], "swatch id must be"),
        ("made_at", [None, "2025-05-31", datetime(2025, 5, 31)], "made at must be"),
        ("made_at", [datetime.min.replace(tzinfo=UTC)], "made at must be"),
    ],
)
def test_what_cannot_be_is_refused_by_name(field: str, values: list[Any], said: str) -> None:
    for value in values:
        with pytest.raises(ValueError, match=said) as refusal:
            record(**{field: value})
        assert "; got " in str(refusal.value)


def test_notes_may_have_lines() -> None:
    note = "first\nsecond\r\n\tthird — é 🦢"
    assert record(note=note).note == note


SIGNS = st.characters(exclude_categories=["Cc", "Cs", "Zl", "Zp"], exclude_characters=TURNING)
NAMES = st.text(
    SIGNS,
    min_size=1,
    max_size=80,
).filter(lambda name: bool(name.strip()))
LABS = st.tuples(st.floats(0, 100), st.floats(-200, 200), st.floats(-200, 200))
RECORDS = st.builds(
    SwatchRecord,
    base_name=NAMES,
    base_lab=LABS,
    lab=LABS,
    shares=st.dictionaries(NAMES, st.floats(0, 0.2), max_size=5),
    coats=st.integers(0, 50),
    base_kind=st.sampled_from(["translucent", "opaque", "unknown"]),
    thickness=st.floats(1e-5, 1.0),
    backing=st.sampled_from(["none", "white", "black", "as in use"]),
    alcohol_grade=st.floats(0, 1),
    drying_time=st.floats(0, 3e8),
    light=st.sampled_from(["D65", "D50", "A"]),
    observer=st.sampled_from([2, 10]),
    geometry=st.sampled_from(["45/0", "d/8 gloss included", "photo", "unknown"]),
    method=st.sampled_from(["instrument", "photo", "eye"]),
    note=st.text(
        st.one_of(
            st.sampled_from("=+-@\t\r\n'\",;|\\＝<>&%"),
            SIGNS,
        ),
        max_size=60,
    ),
    used=st.booleans(),
    id=st.uuids().map(str),
    made_at=st.datetimes(datetime(1971, 1, 1), datetime(2199, 1, 1), timezones=st.just(UTC)),
)


@given(RECORDS)
def test_a_row_comes_back_from_json(row: SwatchRecord) -> None:
    assert record_from_fields(json.loads(json.dumps(record_fields(row)))) == row


def test_fields_must_be_the_known_ones() -> None:
    plain = record_fields(record())
    for odd in (
        {**plain, "colour": "red"},
        {name: value for name, value in plain.items() if name != "lab"},
        {**plain, "made_at": "yesterday"},
        {**plain, "made_at": 5},
        {**plain, 5: 6},
        [],
        None,
    ):
        with pytest.raises(ValueError, match=r"must be .*; got"):
            record_from_fields(odd)  # type: ignore[arg-type]


# what a fit takes


def test_a_row_becomes_a_swatch() -> None:
    swatch = swatch_of_record(record(method="instrument"))
    assert swatch.shares == PLAIN["shares"]
    assert (swatch.coats, swatch.error) == (2, 0.4)
    assert swatch.lab.tolist() == list(PLAIN["lab"])


@pytest.mark.parametrize("reading", [{"light": "A"}, {"observer": 2}])
def test_another_light_or_observer_is_never_mixed_in(reading: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match="swatch lab must be read under D65 for 10 degree"):
        swatch_of_record(record(**reading))
    pool = mean_swatches([record(**reading), record()])
    assert len(pool.swatches) == 1
    assert [caution.key for caution in pool.cautions] == ["other light"]


def test_duplicates_of_a_mix_are_pooled_by_what_they_are_worth() -> None:
    rows = [
        record(lab=(50.0, 0.0, 0.0), method="photo"),
        record(lab=(51.0, 1.0, 0.0), method="photo"),
        record(lab=(50.5, 0.5, 0.0), method="eye"),
    ]
    (pooled,) = mean_swatches(rows).swatches
    # weights 1/4, 1/4, 1/16
    expected = np.array([(50 + 51) / 4 + 50.5 / 16, 1 / 4 + 0.5 / 16, 0]) / (9 / 16)
    np.testing.assert_allclose(pooled.swatch.lab, expected, rtol=1e-12, atol=1e-12)
    assert pooled.swatch.error == pytest.approx((9 / 16) ** -0.5, rel=1e-12)
    assert pooled.ids == tuple(row.id for row in rows)


def test_only_the_same_mix_is_pooled_and_only_rows_in_use() -> None:
    others: list[dict[str, Any]] = [
        {"coats": 3},
        {"shares": {"reed green": 0.125}},
        {"base_name": "white"},
        {"backing": "black"},
        {"thickness": 0.003},
        {"alcohol_grade": 0.7},
        {"base_kind": "opaque"},
        {"geometry": "d/8 gloss included"},
    ]
    rows = [record(), *(record(**other) for other in others), record(used=False), record()]
    pool = mean_swatches(rows)
    assert [len(pooled.ids) for pooled in pool.swatches] == [2] + [1] * len(others)
    assert not pool.cautions


def test_duplicates_that_disagree_widen_the_error_and_are_told_of() -> None:
    rows = [record(lab=(50.0 + d, 0.0, 0.0), method="instrument") for d in (-3.0, 3.0)]
    pool = mean_swatches(rows)
    # Birge: sqrt(2 * 9 / 0.16 / 1) = 10.6 times 0.4 / sqrt 2 is 3
    assert pool.swatches[0].swatch.error == pytest.approx(3.0, rel=1e-12)
    assert pool.swatches[0].scatter == pytest.approx(3.0, rel=1e-12)
    assert [caution.key for caution in pool.cautions] == ["odd duplicates"]
    far = mean_swatches([record(lab=(0.0, -200.0, 0.0)), record(lab=(100.0, 200.0, 0.0))])
    assert far.swatches[0].swatch.error == 20.0


def test_a_part_read_again_while_it_dries_is_a_series_and_no_mistake() -> None:
    """Read after half an hour, a day and a week: the last counts, however far it moved."""
    day = 86400.0
    rows = [
        record(lab=(60.0, -20.0, 30.0), drying_time=7 * day, method="instrument"),
        record(lab=(54.0, -20.0, 30.0), drying_time=1800.0, method="instrument"),
        record(lab=(54.4, -20.0, 30.0), drying_time=2100.0, method="instrument"),
        record(lab=(59.0, -20.0, 30.0), drying_time=day, method="instrument"),
    ]
    pool = mean_swatches(rows)
    (found,) = pool.swatches
    assert found.swatch.lab.tolist() == [60.0, -20.0, 30.0] and found.swatch.error == 0.4
    assert [time for time, _ in found.series] == [1800.0, day, 7 * day]
    assert [lab[0] for _, lab in found.series] == pytest.approx([54.2, 59.0, 60.0])
    # at L* 57 and no other change CIEDE2000 is the step by S_L, from its formula
    s_l = 1 + 0.015 * 7.1**2 / math.sqrt(20 + 7.1**2)
    assert found.drift == pytest.approx(5.8 / s_l, rel=1e-6)
    assert set(found.ids) == {row.id for row in rows}
    (told,) = pool.cautions
    assert told.key == "drift" and "from 30 min to 1 week" in told.text
    early = mean_swatches([*rows, record(coats=4, drying_time=1800.0)])
    assert [caution.key for caution in early.cautions] == ["drift", "read early"]
    quiet = mean_swatches([rows[0], dataclasses.replace(rows[3], lab=(60.0, -20.0, 30.5))])
    assert not quiet.cautions


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(90.0, "1.5 min"), (1800.0, "30 min"), (7200.0, "2 h"), (86400.0, "1 day"),
     (172800.0, "2 days"), (604800.0, "1 week")],
)  # fmt: skip
def test_drying_times_in_words(seconds: float, words: str) -> None:
    assert drying_words(seconds) == words


def test_many_repeats_do_not_take_away_the_bias_of_the_device() -> None:
    rows = [record(method="instrument") for _ in range(50)]
    assert mean_swatches(rows).swatches[0].swatch.error == 0.2


@given(st.lists(RECORDS, max_size=6))
def test_pooling_loses_no_row(rows: list[SwatchRecord]) -> None:
    pool = mean_swatches([*rows, *rows])
    ids = sorted(id for pooled in pool.swatches for id in pooled.ids)
    used = [row.id for row in rows if row.used and (row.light, row.observer) == ("D65", 10)]
    assert ids == sorted([*used, *used])
    for pooled in pool.swatches:
        assert np.isfinite(pooled.swatch.lab).all()
        assert 0.1 < pooled.swatch.error <= 20


@pytest.mark.parametrize("rows", [None, 5, [5], ["x"], [None]])
def test_what_is_no_row_is_refused(rows: Any) -> None:
    with pytest.raises(ValueError, match="must be"):
        mean_swatches(rows)
