"""The log as CSV, zip and HTML: exact there and back, and hostile files refused by name."""

from __future__ import annotations

import csv
import dataclasses
import io
import random
import re
import stat
import struct
import zipfile
from datetime import UTC, datetime
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.scripts.stress_log import some_photo
from tests.tinting.log.test_record import RECORDS, record
from tinting.colour.spectrum import hex_from_lab
from tinting.log.pictures import photo_folder, photo_name, plain_photo
from tinting.log.record import SwatchRecord
from tinting.log.swatches import add_swatch, list_swatches, read_photo, undo
from tinting.log.table import (
    COLUMNS,
    MOST_BYTES,
    MOST_ROWS,
    guarded,
    read_csv,
    unguarded,
    write_csv,
)
from tinting.log.transfer import (
    MOST_PART_PHOTOS,
    MOST_PART_ROWS,
    MOST_PART_TABLE,
    MOST_ZIP_BYTES,
    _row_bytes,
    backup_parts,
    export_csv,
    export_zip,
    import_csv,
    import_zip,
)
from tinting.paper.log_sheet import export_html, log_html

NEEDED = "base_name,base_L,base_a,base_b,dyes,coats,L,a,b"
ROW = 'natural,82.5,-0.5,6.25,"green=0.125; brown=0.05",2,55,-20.5,30.25'


@pytest.fixture
def log(tmp_path: Path) -> Path:
    return tmp_path / "mine" / "swatches.sqlite3"


@pytest.fixture
def filled(log: Path) -> Path:
    rng = random.Random(7)
    for number in range(4):
        photo = some_photo(rng) if number % 2 else None
        add_swatch(record(note=f"=row {number}\n'é;,"), photo=photo, path=log)
    return log


def table(*rows: str, head: str = NEEDED) -> bytes:
    return "\r\n".join([head, *rows]).encode("utf-8")


# CSV there and back


@given(st.lists(RECORDS, max_size=4, unique_by=lambda row: row.id))
def test_every_row_comes_back_exactly(rows: list[SwatchRecord]) -> None:
    sheet = read_csv(write_csv(rows))
    assert sheet.records == tuple(rows)
    assert not sheet.bad and not sheet.cautions


@given(st.lists(RECORDS, min_size=1, max_size=3))
def test_no_cell_begins_like_a_formula(rows: list[SwatchRecord]) -> None:
    text = write_csv(rows).decode("utf-8-sig")
    for cells in csv.reader(io.StringIO(text, newline="")):
        for cell in cells:
            number = re.fullmatch(r"-?\d+(\.\d+)?(e-?\d+)?", cell)
            assert number or cell[:1] not in tuple("=+-@\t\r\n")


BLANK = " \t\u00a0\u200b\u2060\ufeff\u00ad\u3164\u2800\u2003"


@pytest.mark.parametrize("blank", BLANK)
@pytest.mark.parametrize("sign", "=+-@＝")
def test_a_blank_or_unseen_sign_before_a_formula_hides_nothing(blank: str, sign: str) -> None:
    assert guarded(f"{blank}{sign}1+1") == f"'{blank}{sign}1+1"
    assert guarded(f"{blank}{blank}{sign}1+1")[0] == "'"
    row = record(base_name="a", note=f"{blank}{sign}HYPERLINK()") if blank != "\t" else record()
    assert read_csv(write_csv([row])).records == (row,)
    assert guarded(f"{blank}a {sign} b")[0] != "'" or blank == "\t"


@given(st.text(st.sampled_from("'=+-@ a\t\r\n\u200b"), max_size=6))
def test_the_guard_is_taken_off_exactly(text: str) -> None:
    assert unguarded(guarded(text)) == text


def test_the_table_reads_well() -> None:
    row = record(thickness=0.0021, drying_time=1800.0, alcohol_grade=0.7, coats=3)
    head, cells = csv.reader(io.StringIO(write_csv([row]).decode("utf-8-sig"), newline=""))
    assert tuple(head) == COLUMNS
    named = dict(zip(head, cells, strict=True))
    assert named["thickness_mm"] == "2.1"
    assert named["minutes_dry"] == "30"
    assert named["alcohol_percent"] == "70"
    assert named["dyes"] == "reed green=0.125; brown=0.05"
    assert named["used"] == "yes"


def test_a_table_of_nothing_is_a_line_of_names() -> None:
    assert read_csv(write_csv([])).records == ()


# CSV from strangers


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_encodings_and_separators(encoding: str, separator: str) -> None:
    text = table(ROW.replace("natural", "nätürlich")).decode("utf-8").replace(",", separator)
    (row,) = read_csv(text.encode(encoding)).records
    assert row.base_name == "nätürlich"
    assert row.shares == {"green": 0.125, "brown": 0.05}
    assert (row.coats, row.lab) == (2, (55.0, -20.5, 30.25))


def test_an_old_spreadsheet_in_cp1252_and_its_mark_of_the_separator() -> None:
    text = "sep=;\r\n" + table(ROW.replace("natural", "größe – 1")).decode().replace(",", ";")
    (row,) = read_csv(text.encode("cp1252")).records
    assert row.base_name == "größe – 1"


def test_decimal_commas() -> None:
    text = table().decode().replace(",", ";") + "\n"
    text += 'n;82,5;-0,5;6,25;"green=0,125; brown=5%";2;55;-20,5;30,25'
    sheet = read_csv(text.encode())
    assert sheet.records[0].shares == {"green": 0.125, "brown": 0.05}
    assert sheet.records[0].base_lab == (82.5, -0.5, 6.25)


def test_a_comma_that_could_part_thousands_is_not_guessed() -> None:
    head = NEEDED + ",minutes_dry"
    (bad,) = read_csv(table(ROW + ',"1,440"', head=head)).bad
    assert bad.line == 2 and "minutes_dry" in bad.reason and "thousands" in bad.reason
    (row,) = read_csv(table(ROW + ',"0,125"', head=head)).records
    assert row.drying_time == 7.5


def test_columns_in_any_order_and_strange_ones() -> None:
    names, cells = NEEDED.split(",")[::-1], ROW.split(",")[::-1]
    content = table(",".join(["x", *cells]), head=",".join(["Wetter", *names]).upper())
    sheet = read_csv(content)
    assert sheet.records[0].base_lab == (82.5, -0.5, 6.25)
    assert {caution.key for caution in sheet.cautions} == {"left out", "supposed"}


def test_what_was_supposed_is_said() -> None:
    sheet = read_csv(table(ROW))
    (caution,) = sheet.cautions
    for supposed in ("light = D65", "observer = 10", "minutes_dry = 30", "method = eye"):
        assert supposed in caution.text
    zoneless = read_csv(table(ROW + ",2025-05-31 14:05", head=NEEDED + ",made_at"))
    assert zoneless.records[0].made_at == datetime(2025, 5, 31, 14, 5, tzinfo=UTC)
    assert "zone" in {caution.key for caution in zoneless.cautions}


def test_rows_without_an_id_get_the_same_one_each_time() -> None:
    content = table(ROW, ROW, ROW.replace("natural", "white"))
    first, second = read_csv(content).records, read_csv(content).records
    assert first == second
    assert len({row.id for row in first}) == 3


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("natural", "", "base name"),
        ("82.5", "bright", "base_L must be a number; got 'bright'"),
        ("82.5", "", "base_L must be a number"),
        ("82.5", "nan", "base_L must be a number"),
        ("82.5", "1e999", "base lab must be"),
        ("82.5", "9" * 5000, "base_L must be a number"),
        ("82.5", "٨٢", "base_L must be a number"),
        ("green=0.125", "green", "dyes must be written like"),
        ("green=0.125", "green=much", "share of green must be a number"),
        ("green=0.125", "brown=0.125", "dyes must be named once"),
        ("green=0.125", "green=0.99", "swatch shares must be at most 1"),
        (",2,", ",2.5,", "swatch coats|coats must be"),
        (",2,", ",,", "coats must be a number"),
        ("natural", "a,b", "row must be 9 cells"),
        ("30.25", "", "b must be a number"),
    ],
)
def test_a_bad_row_is_named_with_line_and_reason(old: str, new: str, said: str) -> None:
    bad_row = ROW.replace(old, new, 1)
    sheet = read_csv(table(ROW, bad_row, ROW.replace("natural", "white")))
    (bad,) = sheet.bad
    assert bad.line == 3
    assert re.search(said, bad.reason) and "; got " in bad.reason
    assert len(sheet.records) == 2
    assert sheet.lines == (2, 4)


def test_lines_are_counted_through_cells_of_several_lines() -> None:
    head = NEEDED + ",note"
    sheet = read_csv(table(ROW + ',"one\ntwo\nthree"', "", ROW, ROW + ",x", head=head))
    assert sheet.records[0].note == "one\ntwo\nthree"
    assert [bad.line for bad in sheet.bad] == [6]
    assert sheet.lines == (2, 7)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "line of column names"),
        (b"\r\n\r\n", "line of column names"),
        (b"hello", "CSV columns must be named"),
        (NEEDED.replace("coats", "layers").encode(), "none named coats"),
        ((NEEDED + ",coats").encode(), "coats twice"),
        (b"\x89PNG\r\n\x1a\n\x00\x81", "must be"),
        (b"\x81\x8d\x8f", "text in UTF-8"),
        (table('"' + "x" * 200_000), "CSV file line 2 must be"),
        (b"x" * 10_000_001, "at most 10 MB"),
        (table(*[ROW] * 20_001), "at most 20000 rows"),
        ("text", "CSV file must be"),
        (None, "CSV file must be"),
    ],
)
def test_a_file_that_is_no_table_is_refused_whole(content: Any, said: str) -> None:
    with pytest.raises(ValueError, match=said) as refusal:
        read_csv(content)
    assert " must be " in str(refusal.value) and "; got " in str(refusal.value)


@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused(content: bytes) -> None:
    for whole in (content, NEEDED.encode() + b"\r\n" + content):
        try:
            sheet = read_csv(whole)
        except ValueError as error:
            assert " must be " in str(error)
        else:
            assert all("; got " in bad.reason for bad in sheet.bad)


@given(st.text(st.sampled_from("=;\\u0 %a,.\x00\n"), max_size=4000))
def test_any_list_of_dyes_is_read_or_refused(cell: str) -> None:
    quoted = cell.replace('"', '""')
    sheet = read_csv(table(ROW.replace("green=0.125; brown=0.05", quoted)))
    assert len(sheet.records) + len(sheet.bad) == 1


# CSV into the log


def test_nothing_is_half_imported_unless_asked(log: Path) -> None:
    content = table(ROW, ROW.replace("82.5", "x"), ROW.replace("natural", "white"))
    refused = import_csv(content, path=log)
    assert not refused.added and refused.bad[0].line == 3
    assert not list_swatches(path=log).records
    taken = import_csv(content, partial=True, path=log)
    assert len(taken.added) == 2 and taken.bad == refused.bad
    assert len(list_swatches(path=log).records) == 2
    assert undo(path=log).done
    assert not list_swatches(path=log).records


def test_taking_our_own_table_in_again_changes_nothing(filled: Path, tmp_path: Path) -> None:
    before = list_swatches(path=filled).records
    again = import_csv(export_csv(path=filled), path=filled)
    assert not again.added and len(again.same) == 4
    assert list_swatches(path=filled).records == before
    other = tmp_path / "other.sqlite3"
    moved = import_csv(export_csv(path=filled), path=other)
    assert len(moved.added) == 4 and moved.cautions[0].key == "missing pictures"


# zip


def test_a_zip_brings_rows_and_pictures_and_brings_them_once(filled: Path, tmp_path: Path) -> None:
    content = export_zip(path=filled)
    assert export_zip(path=filled) == content
    other = tmp_path / "elsewhere" / "log.sqlite3"
    moved = import_zip(content, path=other)
    assert len(moved.added) == 4 and not moved.bad and not moved.cautions
    rows = list_swatches(path=other).records
    assert rows == list_swatches(path=filled).records
    for row in rows:
        if row.photo:
            assert read_photo(row.photo, path=other) == read_photo(row.photo, path=filled)
    for log in (other, filled):
        again = import_zip(content, path=log)
        assert not again.added and not again.differing and len(again.same) == 4
    assert undo(path=other).done
    assert not list_swatches(path=other).records


def test_a_picture_of_a_stranger_is_cleaned_and_comes_once(log: Path) -> None:
    from PIL import Image

    stream = io.BytesIO()
    exif = Image.Exif()
    exif[0x010E] = "my kitchen"
    Image.new("RGB", (50, 50), (9, 99, 9)).save(stream, "JPEG", exif=exif)
    rows = write_csv([record(photo="kitchen.jpg")])
    content = make_zip({"swatches.csv": rows, "photos/kitchen.jpg": stream.getvalue()})
    assert len(import_zip(content, path=log).added) == 1
    (row,) = list_swatches(path=log).records
    kept = read_photo(row.photo, path=log)
    assert row.photo == photo_name(kept) and b"my kitchen" not in kept
    assert import_zip(content, path=log).same == (row.id,)


def make_zip(files: dict[str, bytes], **options: Any) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as parcel:
        for name, content in files.items():
            member = zipfile.ZipInfo(name)
            member.compress_type = options.get("compress_type", zipfile.ZIP_DEFLATED)
            member.external_attr = options.get("external_attr", 0)
            parcel.writestr(member, content)
        parcel.comment = options.get("comment", b"")
    return stream.getvalue()


CSV = table(ROW)


def doubled_member() -> bytes:
    # the same length of name, made equal in the finished file
    content = make_zip({"swatches.csv": CSV, "swatches.csX": CSV})
    return content.replace(b"swatches.csX", b"swatches.csv")


def lying_size() -> bytes:
    """A table of 30 MB that says it is 100 bytes: what comes out must be counted."""
    content = bytearray(make_zip({"swatches.csv": b"a" * 30_000_000}))
    for mark, place in ((b"PK\x03\x04", 22), (b"PK\x01\x02", 24)):
        at = content.index(mark) + place
        content[at : at + 4] = struct.pack("<I", 100)
    return bytes(content)


def long_list() -> bytes:
    content = bytearray(make_zip({"swatches.csv": CSV}))
    content[-10:-6] = struct.pack("<I", 100_000_000)
    return bytes(content)


def with_password() -> bytes:
    content = bytearray(make_zip({"swatches.csv": CSV}))
    content[content.index(b"PK\x01\x02") + 8] |= 1
    return bytes(content)


def damaged_inside() -> bytes:
    content = bytearray(make_zip({"swatches.csv": CSV * 50}))
    content[60:90] = b"\xa5" * 30
    return bytes(content)


LINK = (stat.S_IFLNK | 0o777) << 16
HOSTILE: dict[str, tuple[Any, str]] = {
    "way up": (make_zip({"swatches.csv": CSV, "../out.jpg": b"x"}), "stays inside"),
    "deep way up": (make_zip({"swatches.csv": CSV, "photos/../../x": b"x"}), "stays inside"),
    "other slash": (make_zip({"swatches.csv": CSV, "..\\out.jpg": b"x"}), "stays inside"),
    "absolute": (make_zip({"swatches.csv": CSV, "/etc/x": b"x"}), "stays inside"),
    "drive": (make_zip({"swatches.csv": CSV, "C:x": b"x"}), "stays inside"),
    "line in name": (make_zip({"swatches.csv": CSV, "a\nb": b"x"}), "stays inside"),
    "link": (make_zip({"swatches.csv": b"/etc/passwd"}, external_attr=LINK), "not a link"),
    "ratio": (make_zip({"swatches.csv": CSV, "bomb": b"\0" * 5_000_000}), "100 times"),
    "table too big": (
        make_zip({"swatches.csv": random.Random(1).randbytes(5_500_000) * 2}),
        "at most 10 MB",
    ),
    "number": (
        make_zip({"swatches.csv": CSV, **{f"{i}": b"" for i in range(20_001)}}),
        "at most 20001 files",
    ),
    "long list": (long_list(), "at most 20001 files"),
    "lying size": (lying_size(), "must be"),
    "twice": (doubled_member(), "each name once"),
    "password": (with_password(), "without a password"),
    "other packing": (
        make_zip({"swatches.csv": CSV}, compress_type=zipfile.ZIP_BZIP2),
        "stored or deflated",
    ),
    "damaged": (damaged_inside(), "undamaged zip"),
    "cut off": (make_zip({"swatches.csv": CSV})[:-5], "zip without remarks"),
    "remark": (make_zip({"swatches.csv": CSV}, comment=b"hi"), "zip without remarks"),
    "no table": (make_zip({"other.csv": CSV}), "one with swatches.csv"),
    "no zip": (b"hello, this is no zip at all", "zip without remarks"),
    "empty": (b"", "zip without remarks"),
    "text": ("PK", "zip file must be"),
    "nothing": (None, "zip file must be"),
}


@pytest.mark.parametrize("kind", HOSTILE)
def test_a_hostile_zip_is_refused_with_the_reason(filled: Path, kind: str) -> None:
    content, said = HOSTILE[kind]
    before = list_swatches(path=filled).records
    files = sorted(path for path in filled.parents[1].rglob("*"))
    with pytest.raises(ValueError, match=said) as refusal:
        import_zip(content, path=filled)
    assert " must be " in str(refusal.value) and "; got " in str(refusal.value)
    assert list_swatches(path=filled).records == before
    assert sorted(path for path in filled.parents[1].rglob("*")) == files


@given(st.data())
def test_any_bytes_in_a_zip_are_read_or_refused(data: st.DataObject) -> None:
    good = bytearray(make_zip({"swatches.csv": CSV, "photos/a.jpg": b"x"}))
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(good) - 1))
        good[at] = data.draw(st.integers(0, 255))
    try:
        # an unknown choice is refused last, so that no log is needed here
        import_zip(bytes(good), existing="neither", path="/nowhere/log.sqlite3")
    except ValueError as error:
        assert " must be " in str(error)


def test_a_hurt_picture_blocks_neither_export_nor_import(filled: Path, tmp_path: Path) -> None:
    rows = list_swatches(path=filled).records
    hurt = next(row.photo for row in rows if row.photo)
    whole = export_zip(path=filled)
    file = photo_folder(filled) / hurt
    kept = file.read_bytes()
    file.write_bytes(kept[: len(kept) // 2])
    content = export_zip(path=filled)
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        assert hurt in archive.read("left out.txt").decode()
        assert f"photos/{hurt}" not in archive.namelist()
    moved = import_zip(content, path=tmp_path / "other.sqlite3")
    assert len(moved.added) == 4 and not moved.bad
    # a backup from before mends the picture
    assert len(import_zip(whole, path=filled).same) == 4
    assert file.read_bytes() == kept


@pytest.mark.parametrize("damage", ["no picture", "wrong checksum"])
def test_a_row_comes_without_a_picture_that_is_hurt_in_the_zip(log: Path, damage: str) -> None:
    good, bad = record(note="good"), record(photo="a.jpg", note="bad")
    files = {"swatches.csv": write_csv([good, bad]), "photos/a.jpg": b"\xff\xd8 no picture"}
    content = bytearray(make_zip(files, compress_type=zipfile.ZIP_STORED))
    if damage == "wrong checksum":
        content[content.index(b"no picture")] ^= 1
    taken = import_zip(bytes(content), path=log)
    assert set(taken.added) == {good.id, bad.id} and not taken.bad
    told = {caution.key: caution.text for caution in taken.cautions}
    assert "photos/a.jpg" in told["hurt pictures"]
    assert [row.photo for row in list_swatches(path=log).records] == ["", ""]


def test_a_log_too_large_for_one_file_is_restored_from_its_parts(
    filled: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert len(backup_parts(path=filled)) == 1
    limits = {"MOST_PART_ROWS": 3, "MOST_PART_PHOTOS": 9_000, "MOST_PART_TABLE": 10_000}
    rng = random.Random(8)
    for number in range(6):
        add_swatch(record(note="é" * 700, coats=number), photo=some_photo(rng), path=filled)
    rows = list_swatches(path=filled).records
    for name, limit in limits.items():
        with monkeypatch.context() as patched:
            patched.setattr(f"tinting.log.transfer.{name}", limit)
            parts = backup_parts(path=filled)
        assert len(parts) > 2, name
        assert [id for part in parts for id in part] == [row.id for row in rows]
        other = tmp_path / name / "log.sqlite3"
        for ids in reversed(parts):
            assert not import_zip(export_zip(ids=ids, path=filled), path=other).cautions
        assert list_swatches(path=other).records == rows
        for row in rows:
            if row.photo:
                assert read_photo(row.photo, path=other) == read_photo(row.photo, path=filled)


def test_a_part_is_never_larger_than_what_is_taken_in() -> None:
    page_bytes = 100 * 2**20  # the chooser's and the server's limit
    assert min(page_bytes, MOST_ZIP_BYTES) > MOST_PART_TABLE + MOST_PART_PHOTOS + 5_000_000
    assert MOST_PART_ROWS <= MOST_ROWS and MOST_PART_TABLE < MOST_BYTES
    widest = record(
        base_name="😀" * 80,
        note="😀" * 4000,
        shares={("=" * 77) + f"{n:03d}": 0.01 for n in range(20)},
    )
    alone = len(write_csv([widest])) - len(write_csv([]))
    assert alone <= _row_bytes(widest)


def test_a_picture_that_is_gone_does_not_stop_the_export(filled: Path, tmp_path: Path) -> None:
    for photo in (filled.parent / "swatches-photos").iterdir():
        photo.unlink()
    moved = import_zip(export_zip(path=filled), path=tmp_path / "other.sqlite3")
    assert len(moved.added) == 4 and moved.cautions[0].key == "missing pictures"
    assert b"Swatch log" in export_html(path=filled)


# HTML


class Reader(HTMLParser):
    """Collects the tags and the text of a document."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str]] = []
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += [(name, value or "") for name, value in attrs]

    def handle_data(self, data: str) -> None:
        self.text += data


NASTY = "<script>alert(1)</script>\"'&amp; onload=x </td></table><img src=x onerror=y>"


def test_what_users_wrote_is_escaped() -> None:
    row = record(base_name=NASTY[:80], note=NASTY, shares={NASTY[:70]: 0.1})
    reader = Reader()
    reader.feed(log_html([row], {"x.jpg": b"y"}))
    assert not {"script", "img"} & set(reader.tags)
    assert reader.tags.count("table") == 1 and reader.tags.count("tr") == 2
    assert not any(name.startswith("on") for name, _ in reader.attributes)
    assert reader.text.count("<script>alert(1)</script>") == 3


def test_the_document_stands_alone_and_holds_every_row(filled: Path) -> None:
    content = export_html(path=filled).decode("utf-8")
    reader = Reader()
    reader.feed(content)
    rows = list_swatches(path=filled).records
    assert reader.tags.count("tr") == 1 + len(rows)
    for row in rows:
        assert row.note in reader.text
    sources = [value for name, value in reader.attributes if name in ("src", "href")]
    assert len(sources) == 2 and all(source.startswith("data:image/jpeg") for source in sources)
    assert "http" not in content and "url(" not in content
    assert content.count("print-color-adjust: exact") >= 1
    labels = [value for name, value in reader.attributes if name == "aria-label"]
    assert len(labels) == 2 * len(rows)
    assert "<img" not in export_html(pictures=False, path=filled).decode("utf-8")


def test_squares_show_the_colour_as_near_as_a_screen_comes() -> None:
    assert hex_from_lab((100.0, 0.0, 0.0)) == "#ffffff"
    assert hex_from_lab((0.0, 0.0, 0.0)) == "#000000"
    # sRGB red is Lab 53.2, 80.1, 67.2 under D65 (computed with the sRGB matrix, known widely)
    assert hex_from_lab((53.24, 80.09, 67.20), "D65", 2) == "#ff0000"
    assert re.fullmatch("#[0-9a-f]{6}", hex_from_lab((50.0, -200.0, 200.0)))


@pytest.mark.parametrize("arguments", [(None,), ([5],), ([], 5)])
def test_what_is_no_row_cannot_be_shown(arguments: Any) -> None:
    with pytest.raises(ValueError, match="must be"):
        log_html(*arguments)
    with pytest.raises(ValueError, match="must be"):
        write_csv(arguments[0] if arguments[0] != [] else 5)


def test_a_plain_photo_is_what_the_zip_carries(filled: Path) -> None:
    with zipfile.ZipFile(io.BytesIO(export_zip(path=filled))) as parcel:
        photos = [name for name in parcel.namelist() if name.startswith("photos/")]
        assert len(photos) == 2
        for name in photos:
            content = parcel.read(name)
            assert plain_photo(content) == content
            assert name == f"photos/{photo_name(content)}"
        assert dataclasses.is_dataclass(read_csv(parcel.read("swatches.csv")))
