"""The swatch log as files to send: CSV, or a zip with pictures and bottles; and files taken in.

A file from a stranger is refused or read with every flaw named: no name in a zip is ever used as
a path, sizes are counted while unpacking and not believed, and rows go into the log whole or not
at all. Taking the same file in again changes nothing.
"""

from __future__ import annotations

import dataclasses
import io
import stat
import struct
import zipfile
import zlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from data.rules import Caution, check_kind, refuse
from data.store.folder import Place, StoreError
from tinting.log.bottles import LARGEST as MOST_BOTTLES_BYTES
from tinting.log.bottles import bottles_text, list_bottles, take_bottles
from tinting.log.maintenance import merge_with_plain
from tinting.log.pictures import photo_bytes, photo_folder, plain_photo
from tinting.log.record import SwatchRecord
from tinting.log.swatches import list_swatches, log_path, read_photo
from tinting.log.table import MOST_BYTES as MOST_CSV_BYTES
from tinting.log.table import MOST_ROWS, BadRow, Sheet, read_csv, write_csv
from tinting.photo.picture import MOST_BYTES as MOST_PHOTO_BYTES

TABLE, PHOTOS, LEFT_OUT, BOTTLES = "swatches.csv", "photos/", "left out.txt", "bottles.json"
MOST_ZIP_BYTES, MOST_UNPACKED_BYTES, MOST_LIST_BYTES = 200_000_000, 400_000_000, 4_000_000
MOST_MEMBERS, MOST_PHOTOS = 20_001, 1000
MOST_PART_TABLE, MOST_PART_ROWS, MOST_PART_PHOTOS = 9_000_000, MOST_ROWS // 2, 80_000_000
"""Bytes and rows of the table, and bytes of the pictures, of one part of a backup."""
HIGHEST_RATIO, SMALL_BYTES = 100, 1_000_000
_FAULTS = (
    zipfile.BadZipFile,
    zlib.error,
    struct.error,
    EOFError,
    OSError,
    RuntimeError,
    ValueError,
    OverflowError,
    LookupError,
)
"""What unpacking a damaged zip may raise."""


@dataclass(frozen=True, kw_only=True)
class Imported:
    """What an import did.

    Ids of rows ``added``, ``same`` as in the log already, ``differing`` from those in the log
    (``replaced`` says whether they took their place); ``bad`` rows with line and reason. With bad
    rows nothing was taken over, unless the good ones were asked for. ``bottles`` says what was
    done with those of the file, in words.
    """

    added: tuple[str, ...]
    same: tuple[str, ...]
    differing: tuple[str, ...]
    replaced: bool
    bad: tuple[BadRow, ...]
    cautions: tuple[Caution, ...]
    bottles: str = ""

    @property
    def sentence(self) -> str:
        """What was done, in words."""
        if self.bad and not (self.added or self.same or self.differing):
            return (
                f"Nothing was taken over. Rows that cannot be read: {len(self.bad)}, see below. "
                "Correct them, or take the good rows alone."
            )
        words = f"Rows taken over: {len(self.added)}. The same already: {len(self.same)}."
        if self.differing:
            kept = "taken from the file" if self.replaced else "kept as they are here"
            words += f" With other content: {len(self.differing)}, {kept}."
        words += f" Not readable: {len(self.bad)}." if self.bad else ""
        return f"{words} {self.bottles}".strip()


def backup_parts(*, pictures: bool = True, path: Place = None) -> tuple[tuple[str, ...], ...]:
    """Return the ids of the rows that belong into each file of a backup of the whole log.

    A log that is too large for one file that can be taken in again, here or on the page, is given
    out in several, each a whole file of its own; taken in in any order they give the log back.

    Parameters
    ----------
    pictures : bool
        For zips with pictures, see `export_zip`; else for tables, see `export_csv`.
    path : str or Path, optional
        The log, see `tinting.log.swatches.log_path`.
    """
    check_kind("pictures", pictures, bool, "true or false")
    folder = photo_folder(log_path(path))
    parts: list[list[str]] = [[]]
    table = photos = 0
    named: set[str] = set()
    for record in list_swatches(path=path).records:
        row = _row_bytes(record)
        new = pictures and record.photo and record.photo not in named
        photo = photo_bytes(folder, record.photo) if new else 0
        full = (
            table + row > MOST_PART_TABLE
            or photos + photo > MOST_PART_PHOTOS
            or len(parts[-1]) == MOST_PART_ROWS
            or len(named) == MOST_PHOTOS
        )
        if parts[-1] and full:
            parts.append([])
            table = photos = 0
            named.clear()
            photo = photo_bytes(folder, record.photo) if pictures else 0
        parts[-1].append(record.id)
        table, photos = table + row, photos + photo
        named |= {record.photo} - {""}
    return tuple(tuple(part) for part in parts if part)


def export_csv(*, ids: Iterable[str] | None = None, path: Place = None) -> bytes:
    """Return rows as CSV, see `tinting.log.table.write_csv`: all of them, or those of ``ids``."""
    return write_csv(_rows(ids, path))


def export_zip(*, ids: Iterable[str] | None = None, path: Place = None) -> bytes:
    """Return rows, their pictures and the bottles as one zip.

    In it are ``swatches.csv``, ``photos/`` and, where there are bottles, ``bottles.json``.

    Parameters
    ----------
    ids : iterable of str, optional
        Rows to give out, see `backup_parts`; all of them if left out.
    path : str or Path, optional
        The log, see `tinting.log.swatches.log_path`.

    Notes
    -----
    A picture that is gone or hurt hinders nothing: it is left out, and ``left out.txt`` in the zip
    names it.
    """
    records = _rows(ids, path)
    stream = io.BytesIO()
    lost = []
    with zipfile.ZipFile(stream, "w") as archive:
        archive.writestr(_member(TABLE), write_csv(records))
        if list_bottles(path=_bottles_path(path)).bottles:
            text = bottles_text(path=_bottles_path(path))
            archive.writestr(_member(BOTTLES), text.encode())
        for name in sorted({record.photo for record in records} - {""}):
            try:
                archive.writestr(_member(PHOTOS + name), read_photo(name, path=path))
            except (ValueError, StoreError) as error:
                lost.append(f"{name}: {error}")
        if lost:
            archive.writestr(_member(LEFT_OUT), "\n".join([*lost, ""]))
    return stream.getvalue()


def _rows(ids: Iterable[str] | None, path: Place) -> tuple[SwatchRecord, ...]:
    records = list_swatches(path=path).records
    if ids is None:
        return records
    if isinstance(ids, str) or not isinstance(ids, Iterable):
        raise refuse("ids", "a list of the ids of rows", type(ids).__name__)
    wanted = []
    for id in ids:
        check_kind("each of the ids", id, str, "a text")
        wanted.append(id)
    kept = set(wanted)
    return tuple(record for record in records if record.id in kept)


def _row_bytes(record: SwatchRecord) -> int:
    """At most so many bytes does a row take in a table."""
    signs = len(record.base_name) + len(record.note) + sum(len(name) + 8 for name in record.shares)
    return 700 + 8 * signs


def import_csv(
    content: bytes, *, partial: bool = False, existing: str = "keep", path: Place = None
) -> Imported:
    """Take the rows of a CSV file into the log, as one step of undo.

    Parameters
    ----------
    content : bytes
        The file, see `tinting.log.table.read_csv`.
    partial : bool
        Take the good rows even if there are bad ones.
    existing : str
        "keep" or "replace" rows of the log whose id comes with other content.
    path : str or Path, optional
        The log, see `tinting.log.swatches.log_path`.

    Raises
    ------
    ValueError
        In the form *name must be rule; got value*, for a file that cannot be read as a whole.
    StoreError
        An OSError: the log cannot be written; then nothing has been taken over.
    """
    return _take_over(read_csv(content), {}, partial, existing, path)


def import_zip(
    content: bytes, *, partial: bool = False, existing: str = "keep", path: Place = None
) -> Imported:
    """Take the rows and pictures of a zip of `export_zip` into the log; otherwise as `import_csv`.

    Refused are names that lead out of the zip, links, encryption, names given twice, and more
    than 200 MB, 20 000 members, 400 MB unpacked or a hundredfold unpacking. A row whose picture is
    hurt is taken without it, and a caution names the picture.
    """
    check_kind("zip file", content, bytes, "the content of a file")
    if len(content) > MOST_ZIP_BYTES:
        raise refuse("zip file", f"at most {MOST_ZIP_BYTES // 10**6} MB", f"{len(content)} bytes")
    _check_end(content)
    folder = photo_folder(log_path(path))
    try:
        archive = zipfile.ZipFile(io.BytesIO(content))
    except _FAULTS as error:
        raise refuse("zip file", "a whole, undamaged zip", str(error)) from None
    with archive:
        members = _checked_members(archive)
        sheet = read_csv(_unpacked(archive, members[TABLE], MOST_CSV_BYTES))
        photos, cautions = _photos(archive, members, sheet, folder)
        packed = members.get(BOTTLES)
        text = b"" if packed is None else _unpacked(archive, packed, MOST_BOTTLES_BYTES)
    sheet = dataclasses.replace(sheet, cautions=(*sheet.cautions, *cautions))
    done = _take_over(sheet, photos, partial, existing, path)
    return done if sheet.bad and not partial else _with_bottles(done, text, existing, path)


def _with_bottles(done: Imported, text: bytes, existing: str, path: Place) -> Imported:
    """Take the bottles of a zip over, too; a file of them that is hurt is told of."""
    if not text:
        return done
    try:
        words = take_bottles(text, replaces=existing == "replace", path=_bottles_path(path))
    except ValueError as error:
        told = Caution(key="hurt bottles", text=f"No bottle was taken over: {error}.")
        return dataclasses.replace(done, cautions=(*done.cautions, told))
    return dataclasses.replace(done, bottles=words)


def _bottles_path(path: Place) -> Place:
    """The file of the bottles that belongs to a log."""
    return None if path is None else log_path(path).with_name("materials.sqlite3")


def _member(name: str) -> zipfile.ZipInfo:
    """A file in the zip with one fixed time, so that the same log gives the same zip."""
    member = zipfile.ZipInfo(name)
    member.external_attr = 0o644 << 16
    return member


def _take_over(
    sheet: Sheet, photos: Mapping[str, bytes], partial: bool, existing: str, path: Place
) -> Imported:
    check_kind("partial", partial, bool, "true or false")
    rows = () if sheet.bad and not partial else sheet.records
    merged = merge_with_plain(rows, photos, existing, log_path(path))
    return Imported(
        added=merged.added,
        same=merged.same,
        differing=merged.differing,
        replaced=merged.replaced,
        bad=sheet.bad,
        cautions=(*sheet.cautions, *merged.cautions),
    )


def _check_end(content: bytes) -> None:
    """The closing record as we write it, so that the list of members is known to be short."""
    end = content[-22:]
    if len(end) < 22 or end[:4] != b"PK\5\6" or end[-2:] != b"\0\0":
        raise refuse("zip file", "a zip without remarks at its end", "another kind of file")
    if content[-42:-38] == b"PK\6\7" or int.from_bytes(end[12:16], "little") > MOST_LIST_BYTES:
        raise refuse("zip file", f"a zip of at most {MOST_MEMBERS} files", "more")


def _checked_members(archive: zipfile.ZipFile) -> dict[str, zipfile.ZipInfo]:
    members: dict[str, zipfile.ZipInfo] = {}
    for member in archive.infolist():
        _check_member(member)
        if member.filename in members:
            raise refuse("zip file", "one with each name once", f"{member.filename!r} twice")
        members[member.filename] = member
    if len(members) > MOST_MEMBERS:
        raise refuse("zip file", f"a zip of at most {MOST_MEMBERS} files", len(members))
    size = sum(member.file_size for member in members.values())
    if size > MOST_UNPACKED_BYTES:
        rule = f"at most {MOST_UNPACKED_BYTES // 10**6} MB unpacked"
        raise refuse("zip file", rule, f"{size} bytes")
    if TABLE not in members:
        raise refuse("zip file", f"one with {TABLE} in it", ", ".join(sorted(members)[:3]))
    return members


def _check_member(member: zipfile.ZipInfo) -> None:
    name = member.orig_filename
    parts = name.replace("\\", "/").split("/")
    if name.startswith(("/", "\\")) or ".." in parts or ":" in name or not name.isprintable():
        raise refuse("name in the zip", "one that stays inside of it", ascii(name))
    if stat.S_ISLNK(member.external_attr >> 16):
        raise refuse("name in the zip", "a file, not a link", ascii(name))
    if member.flag_bits & 0x1:
        raise refuse("zip file", "one without a password", ascii(name))
    if member.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise refuse("zip file", "stored or deflated", ascii(name))
    if member.file_size > max(SMALL_BYTES, HIGHEST_RATIO * member.compress_size):
        rule = f"unpacked to at most {HIGHEST_RATIO} times its size"
        raise refuse("file in the zip", rule, f"{name!r} {member.file_size} bytes")


def _unpacked(archive: zipfile.ZipFile, member: zipfile.ZipInfo, most: int) -> bytes:
    # the size in the list may lie, so what comes out is counted
    try:
        with archive.open(member) as stream:
            content = stream.read(most + 1)
    except _FAULTS as error:
        raise refuse("zip file", "a whole, undamaged zip", str(error)) from None
    if len(content) > most:
        raise refuse("file in the zip", f"at most {most // 10**6} MB", repr(member.filename))
    return content


def _photos(
    archive: zipfile.ZipFile, members: Mapping[str, zipfile.ZipInfo], sheet: Sheet, folder: Path
) -> tuple[dict[str, bytes], tuple[Caution, ...]]:
    """Pictures that rows name and that are not kept yet, made plain; what is said of hurt ones."""
    plain: dict[str, bytes] = {}
    hurt: dict[str, str] = {}
    for name in dict.fromkeys(record.photo for record in sheet.records):
        member = members.get(PHOTOS + name)
        # one of another size beside the log was hurt, and this one takes its place
        if not name or member is None or photo_bytes(folder, name) == member.file_size:
            continue
        if len(plain) == MOST_PHOTOS or sum(map(len, plain.values())) > MOST_UNPACKED_BYTES:
            raise refuse("zip file", f"one with at most {MOST_PHOTOS} new pictures", "more")
        try:
            plain[name] = plain_photo(_unpacked(archive, member, MOST_PHOTO_BYTES))
        except ValueError as error:
            hurt[name] = f"{PHOTOS}{name}: {error}"
    if not hurt:
        return plain, ()
    shown = "; ".join(list(hurt.values())[:3])
    text = f"Pictures in the zip that are hurt, so their rows come without: {len(hurt)} ({shown})."
    return plain, (Caution(key="hurt pictures", text=text),)
