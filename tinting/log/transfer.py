"""The swatch log as files to send: CSV, or one zip with the pictures; and files that came in.

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
from collections.abc import Container, Mapping
from dataclasses import dataclass

from data.rules import Caution, check_kind, refuse
from data.store.folder import Place
from tinting.log.maintenance import merge_with_plain
from tinting.log.pictures import photo_folder, photo_names, plain_photo
from tinting.log.swatches import list_swatches, log_path, read_photo
from tinting.log.table import MOST_BYTES as MOST_CSV_BYTES
from tinting.log.table import BadRow, Sheet, read_csv, write_csv
from tinting.photo.picture import MOST_BYTES as MOST_PHOTO_BYTES

TABLE, PHOTOS = "swatches.csv", "photos/"
MOST_ZIP_BYTES, MOST_UNPACKED_BYTES, MOST_LIST_BYTES = 200_000_000, 400_000_000, 4_000_000
MOST_MEMBERS, MOST_PHOTOS = 20_001, 1000
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
    rows nothing was taken over, unless the good ones were asked for.
    """

    added: tuple[str, ...]
    same: tuple[str, ...]
    differing: tuple[str, ...]
    replaced: bool
    bad: tuple[BadRow, ...]
    cautions: tuple[Caution, ...]


def export_csv(*, path: Place = None) -> bytes:
    """Return all rows as CSV, see `tinting.log.table.write_csv`."""
    return write_csv(list_swatches(path=path).records)


def export_zip(*, path: Place = None) -> bytes:
    """Return all rows and their pictures as one zip: ``swatches.csv`` and ``photos/``."""
    records = list_swatches(path=path).records
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        archive.writestr(_member(TABLE), write_csv(records))
        here = set(photo_names(photo_folder(log_path(path))))
        for name in sorted({record.photo for record in records} & here):
            archive.writestr(_member(PHOTOS + name), read_photo(name, path=path))
    return stream.getvalue()


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
    than 200 MB, 20 000 members, 400 MB unpacked or a hundredfold unpacking.
    """
    check_kind("zip file", content, bytes, "the content of a file")
    if len(content) > MOST_ZIP_BYTES:
        raise refuse("zip file", f"at most {MOST_ZIP_BYTES // 10**6} MB", f"{len(content)} bytes")
    _check_end(content)
    here = photo_names(photo_folder(log_path(path)))
    try:
        archive = zipfile.ZipFile(io.BytesIO(content))
    except _FAULTS as error:
        raise refuse("zip file", "a whole, undamaged zip", str(error)) from None
    with archive:
        members = _checked_members(archive)
        sheet = read_csv(_unpacked(archive, members[TABLE], MOST_CSV_BYTES))
        photos, lost = _photos(archive, members, sheet, here)
    lines = {row.line for row in lost}
    good = [r for r, line in zip(sheet.records, sheet.lines, strict=True) if line not in lines]
    sheet = dataclasses.replace(
        sheet,
        records=tuple(good),
        lines=tuple(line for line in sheet.lines if line not in lines),
        bad=tuple(sorted((*sheet.bad, *lost), key=lambda row: row.line)),
    )
    return _take_over(sheet, photos, partial, existing, path)


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
    archive: zipfile.ZipFile,
    members: Mapping[str, zipfile.ZipInfo],
    sheet: Sheet,
    here: Container[str],
) -> tuple[dict[str, bytes], list[BadRow]]:
    """Pictures that rows name and that are not kept yet, made plain; rows with a bad one."""
    plain: dict[str, bytes] = {}
    lost: list[BadRow] = []
    for record, line in zip(sheet.records, sheet.lines, strict=True):
        name = record.photo
        if not name or name in here or name in plain or PHOTOS + name not in members:
            continue
        if len(plain) == MOST_PHOTOS or sum(map(len, plain.values())) > MOST_UNPACKED_BYTES:
            raise refuse("zip file", f"one with at most {MOST_PHOTOS} new pictures", "more")
        photo = _unpacked(archive, members[PHOTOS + name], MOST_PHOTO_BYTES)
        try:
            plain[name] = plain_photo(photo)
        except ValueError as error:
            lost.append(BadRow(line=line, reason=f"{PHOTOS}{name}: {error}"))
    return plain, lost
