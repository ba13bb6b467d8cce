"""The tables: every row is read, every source is used, and a bad row is refused."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import pytest

import data
from data import COLUMNS, FOLDER, read_sources, read_table
from flexcalc.limb.materials import (
    datasheet_modulus,
    elastomer_names,
    gent_modulus,
    load_elastomer,
    modulus_from_shore,
    qi_joyce_boyce_modulus,
)

FOLDERS = sorted({path.parent for path in FOLDER.rglob("sources.csv")})
TABLES = sorted(path for folder in FOLDERS for path in folder.glob("*.csv"))
TABLES = [path for path in TABLES if path.stem != "sources"]
GOOD = {
    "item": "annealed wire",
    "quantity": "density",
    "value": "2.7",
    "unit": "g/cm3",
    "low": "2.6",
    "high": "2.8",
    "kind": "handbook",
    "source": "a book",
    "where": "page 7",
    "note": "",
}


def lines(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def write(folder: Path, rows: list[dict[str, str]], columns: list[str] = COLUMNS) -> None:
    """Write a table "trial" and its one source."""
    with (folder / "trial.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, columns, extrasaction="ignore")
        writer.writeheader()
        writer.writerows(rows)
    (folder / "sources.csv").write_text("source,citation,seen\na book,A Book,read\n", "utf-8")


@pytest.mark.parametrize("path", TABLES, ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_every_row_of_every_table_is_read(path: Path) -> None:
    table = read_table(path.stem, path.parent)
    rows = lines(path)
    assert sum(len(quantities) for quantities in table.values()) == len(rows) > 0
    for row in rows:
        quantity = table[row["item"]][row["quantity"]]
        scale = data.UNITS[row["unit"]]
        assert quantity.value == float(row["value"]) * scale
        assert quantity.low <= quantity.value <= quantity.high
        assert quantity.source in read_sources(path.parent)


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
def test_every_source_is_used_and_says_how_it_was_seen(folder: Path) -> None:
    sources = read_sources(folder)
    assert len(sources) == len(lines(folder / "sources.csv"))
    used = {
        row["source"] for path in folder.glob("*.csv") if path.stem != "sources"
        for row in lines(path)
    }  # fmt: skip
    assert used == set(sources)
    for row in sources.values():
        assert row["citation"].strip()
        assert row["seen"] in ("read", "memory", "computed")


@pytest.mark.parametrize("path", TABLES, ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_what_was_only_remembered_says_so(path: Path) -> None:
    """A row from a source nobody opened may not call itself measured, datasheet or handbook."""
    for quantities in read_table(path.stem, path.parent).values():
        for quantity in quantities.values():
            if read_sources(path.parent)[quantity.source]["seen"] == "memory":
                assert quantity.kind in ("memory", "estimate"), quantity


def test_the_trial_row_itself_is_good_and_leaves_in_si(tmp_path: Path) -> None:
    write(tmp_path, [GOOD])
    density = read_table("trial", tmp_path)["annealed wire"]["density"]
    assert (density.low, density.value, density.high) == pytest.approx((2600, 2700, 2800))


@pytest.mark.parametrize(
    ("column", "value", "word"),
    [
        ("unit", "", "unit"),
        ("unit", "furlong", "unit"),
        ("source", "", "source"),
        ("source", "hearsay", "source"),
        ("kind", "", "kind"),
        ("kind", "guess", "kind"),
        ("low", "", "low"),
        ("high", "", "high"),
        ("value", "", "value"),
        ("value", "nan", "value"),
        ("high", "inf", "high"),
        ("low", "2.75", "low, value, high"),
        ("high", "2.65", "low, value, high"),
        ("item", " ", "item"),
        ("quantity", "", "quantity"),
        ("where", "", "where"),
    ],
)
def test_a_bad_row_is_refused_with_file_and_line(
    tmp_path: Path, column: str, value: str, word: str
) -> None:
    write(tmp_path, [GOOD | {"item": "another wire"}, GOOD | {column: value}])
    with pytest.raises(ValueError, match=rf"trial.csv line 3: .*{word}.* must be"):
        read_table("trial", tmp_path)


def test_a_row_that_stands_twice_is_refused(tmp_path: Path) -> None:
    write(tmp_path, [GOOD, GOOD | {"value": "2.65"}])
    with pytest.raises(ValueError, match="line 3: quantity must be given once; got 'density'"):
        read_table("trial", tmp_path)


def test_a_missing_column_is_refused(tmp_path: Path) -> None:
    write(tmp_path, [GOOD], [column for column in COLUMNS if column != "high"])
    with pytest.raises(ValueError, match=r"trial.csv columns must be"):
        read_table("trial", tmp_path)


def test_an_unknown_number_is_a_key_error() -> None:
    with pytest.raises(KeyError):
        read_table("metals")["unobtainium"]
    with pytest.raises(KeyError):
        read_table("metals")["annealed copper"]["colour"]


@pytest.mark.parametrize("name", elastomer_names())
def test_the_modulus_prior_is_the_mean_of_the_relations(name: str) -> None:
    relations = {
        "TPU 80A": [gent_modulus(80), qi_joyce_boyce_modulus(80, "A")],
        **{
            f"TPU {hardness}": [qi_joyce_boyce_modulus(shore_d, "D"), datasheet_modulus(shore_d)]
            for hardness, shore_d in (
                ("85A", 33), ("90A", 39), ("95A", 46), ("98A", 53), ("55D", 55), ("60D", 60)
            )
        },
    }[name]  # fmt: skip
    row = read_table("elastomers")[name]["elastic_modulus"]
    # The table prints four digits.
    assert row.value == pytest.approx(math.prod(relations) ** (1 / len(relations)), rel=5e-4)
    assert row.value == pytest.approx(modulus_from_shore(float(name[4:-1]), name[-1]), rel=5e-4)
    assert (row.high / row.value, row.value / row.low) == pytest.approx((1.9, 1.9), rel=1e-3)


def test_saturation_grows_with_the_modulus_as_its_note_says() -> None:
    reference = load_elastomer("TPU 85A")
    for name in elastomer_names():
        elastomer = load_elastomer(name)
        share = elastomer.elastic_modulus / reference.elastic_modulus
        assert elastomer.saturation_stress == pytest.approx(5.5e6 * share**0.7, rel=0.04)


def test_ten_millilitres_of_alcohol_in_a_room() -> None:
    """The figure that colour benches quote: 106 ppm in 30 m3, against the limit of 400."""
    alcohol = read_table("constants")["isopropyl alcohol"]
    concentration = 10e-6 * alcohol["density"].value / 30
    assert concentration / alcohol["vapour_per_ppm"].value == pytest.approx(106e-6, abs=0.5e-6)
    assert alcohol["saturated_vapour"].value > alcohol["lower_limit"].value
