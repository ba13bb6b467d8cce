"""Pictures from strangers: what is refused, what is turned upright, what is forgotten."""

from __future__ import annotations

import io
import os
import struct
import subprocess
import sys
import zlib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image, ImageCms

from tests.tree import ROOT
from tinting.photo.picture import MOST_BYTES, Picture, as_picture, picture_jpeg, read_picture


def corner_marked() -> Image.Image:
    """48 x 64 (width x height) grey with a red top left quarter."""
    pixels = np.full((64, 48, 3), 128, dtype=np.uint8)
    pixels[:32, :24] = (200, 30, 30)
    return Image.fromarray(pixels)


def saved(image: Image.Image, kind: str = "JPEG", **extra: Any) -> bytes:
    buffer = io.BytesIO()
    image.save(buffer, kind, **extra)
    return buffer.getvalue()


def png_of(width: int, height: int, data: bytes = b"") -> bytes:
    """A PNG that only claims to be that large."""

    def chunk(name: bytes, body: bytes) -> bytes:
        return (
            struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))
        )

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    parts = [chunk(b"IHDR", header), chunk(b"IDAT", data or zlib.compress(b"\0" * 1000))]
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts) + chunk(b"IEND", b"")


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_file_is_read_from_bytes_path_and_stream(kind: str, tmp_path: Path) -> None:
    content = saved(corner_marked(), kind)
    path = tmp_path / "photo.bin"
    path.write_bytes(content)
    stream = io.BytesIO(content)
    stream.read()  # an upload that something else has read before
    with path.open("rb") as opened:
        pictures = [read_picture(given) for given in (content, path, str(path), stream, opened)]
    for picture in pictures:
        assert (picture.width, picture.height) == (48, 64)
        assert np.abs(picture.pixels[16, 8].astype(int) - (200, 30, 30)).max() <= 6
        assert not picture.pixels.flags.writeable


def test_the_turn_that_the_camera_wrote_is_carried_out() -> None:
    stored = corner_marked().transpose(Image.Transpose.ROTATE_90)  # lies on its left side
    exif = Image.Exif()
    exif[0x0112] = 6  # "row 0 is the right-hand side": turn clockwise to see it
    picture = read_picture(saved(stored, exif=exif.tobytes(), quality=95))
    assert (picture.width, picture.height) == (48, 64)
    assert picture.pixels[8, 8, 0] > 180 and picture.pixels[56, 40, 0] < 150


def test_place_and_remarks_are_dropped_from_what_is_kept() -> None:
    exif = Image.Exif()
    exif[0x010F] = "maker of the camera"
    exif.get_ifd(0x8825)[1] = "N"
    exif.get_ifd(0x8825)[2] = (52.0, 31.0, 12.0)
    content = saved(corner_marked(), exif=exif.tobytes(), comment=b"at home")
    assert b"maker of the camera" in content and b"at home" in content
    kept = picture_jpeg(read_picture(content))
    assert b"maker" not in kept and b"at home" not in kept and b"Exif" not in kept
    assert dict(Image.open(io.BytesIO(kept)).getexif()) == {}


def test_the_kept_copy_is_made_smaller_never_larger() -> None:
    picture = Picture(pixels=np.zeros((300, 900, 3), dtype=np.uint8))
    assert read_picture(picture_jpeg(picture, longest_side=300)).width == 300
    assert read_picture(picture_jpeg(picture)).width == 900


def test_an_unreadable_profile_is_said_and_the_colours_kept() -> None:
    profile = ImageCms.createProfile("sRGB")
    plain = saved(corner_marked(), "PNG", icc_profile=ImageCms.ImageCmsProfile(profile).tobytes())
    assert (read_picture(plain).pixels[40, 40] == 128).all()
    lab = ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB")).tobytes()
    for broken in (b"no profile at all", lab, b"x" * 1_000_001):
        picture = read_picture(saved(corner_marked(), "PNG", icc_profile=broken))
        assert [caution.key for caution in picture.cautions] == ["profile"]
        assert (picture.pixels[40, 40] == 128).all()


def test_a_profile_of_other_primaries_moves_the_colours() -> None:
    picture = read_picture(saved(corner_marked(), "PNG", icc_profile=swapped_profile()))
    red, green, blue = (int(value) for value in picture.pixels[8, 8])
    assert green > 150 and red < 80 and blue < 80  # the file's first channel is green light


def swapped_profile() -> bytes:
    """The library's sRGB profile under another name, red's and green's primaries exchanged."""
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    for old, new in ((b"rXYZ", b"temp"), (b"gXYZ", b"rXYZ"), (b"temp", b"gXYZ")):
        profile = profile.replace(old, new, 1)
    return profile.replace("sRGB".encode("utf-16-be"), "none".encode("utf-16-be"))


@pytest.mark.parametrize(
    ("content", "rule"),
    [
        (png_of(30_000, 30_000), "at most 40 million pixels"),
        (png_of(8_000, 6_000), "at most 40 million pixels"),
        (png_of(10, 600), "at least 32 pixels a side"),
        (png_of(600, 600), "a whole, undamaged picture"),
        (png_of(600, 600, b"not packed"), "undamaged|a JPEG, PNG or WebP"),
        (b"", "a JPEG, PNG or WebP picture"),
        (b"GIF89a" + bytes(100), "a JPEG, PNG or WebP picture"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "a JPEG, PNG or WebP picture"),
        (b"\0\0\0\x18ftypheic" + bytes(100), "HEIC or AVIF"),
        (b"II*\0" + bytes(100), "TIFF or raw"),
        (bytes(MOST_BYTES + 1), "at most 16 MB"),
        (saved(corner_marked())[:400], "undamaged|a JPEG, PNG or WebP"),
        (saved(corner_marked().convert("L")), "in colour with 8 bits per channel"),
        (saved(corner_marked().convert("CMYK")), "in colour with 8 bits per channel"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_what_is_no_photo_is_refused(content: bytes, rule: str) -> None:
    with pytest.raises(ValueError, match=rf"^photo must be .*({rule})"):
        read_picture(content)


def test_every_cut_of_a_file_is_refused() -> None:
    noise = np.random.default_rng(1).integers(0, 256, (64, 64, 3), dtype=np.uint8)
    for kind in ("JPEG", "PNG", "WEBP"):
        whole = saved(Image.fromarray(noise), kind)
        for length in range(1, len(whole) - 200, max(1, len(whole) // 40)):
            with pytest.raises(ValueError, match=r"^photo must be"):
                read_picture(whole[:length])


def test_flipped_bytes_give_a_picture_or_a_refusal() -> None:
    rng = np.random.default_rng(2)
    whole = {kind: saved(corner_marked(), kind) for kind in ("JPEG", "PNG", "WEBP")}
    refused = 0
    for turn in range(300):
        content = bytearray(whole[("JPEG", "PNG", "WEBP")[turn % 3]])
        for place in rng.integers(0, len(content), 6):
            content[place] = rng.integers(0, 256)
        try:
            read_picture(bytes(content))
        except ValueError as error:
            assert str(error).startswith("photo must be")
            refused += 1
    assert 0 < refused < 300


@pytest.mark.parametrize(
    "given",
    [None, 3, 1.5, [], {}, object(), "no/such/file", "a\0b", "", ".", io.StringIO("text"), True],
    ids=lambda given: type(given).__name__,
)
def test_what_is_no_file_is_refused(given: object) -> None:
    with pytest.raises(ValueError, match=r"^photo must be"):
        as_picture(given)


def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    with pytest.raises(ValueError, match=r"^photo must be a file that exists"):
        read_picture(pipe)


@pytest.mark.parametrize(
    "pixels",
    [
        np.zeros((40, 40, 3)),
        np.zeros((40, 40), dtype=np.uint8),
        np.zeros((40, 40, 4), dtype=np.uint8),
        np.zeros((0, 40, 3), dtype=np.uint8),
        [[1]],
    ],
    ids=lambda value: str(np.shape(value)),
)
def test_pixels_of_another_form_are_refused(pixels: Any) -> None:
    with pytest.raises(ValueError, match=r"^photo must be"):
        Picture(pixels=pixels)


def test_pixels_are_copied() -> None:
    own = np.zeros((40, 40, 3), dtype=np.uint8)
    picture = as_picture(own)
    own[:] = 9
    assert picture.pixels.max() == 0
    with pytest.raises(ValueError, match=r"^picture must be a Picture; got 'ndarray'"):
        picture_jpeg(own)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=r"^longest side must be"):
        picture_jpeg(picture, longest_side=3)


def flat(side: int, kind: str = "PNG") -> bytes:
    stream = io.BytesIO()
    Image.new("RGB", (side, side), (90, 120, 60)).save(stream, kind)
    return stream.getvalue()


@pytest.mark.parametrize("kind", ["PNG", "WEBP"])
def test_a_small_file_does_not_unpack_into_the_memory(kind: str) -> None:
    bomb = flat(6300, kind)
    assert len(bomb) < 150_000  # 120 MB of pixels
    with pytest.raises(ValueError, match="unpacked to at most 200 times its size"):
        read_picture(bomb)
    assert read_picture(flat(1900, kind)).width == 1900  # flat colour of a small picture


COPIES = """
import io, resource
import numpy as np
from PIL import Image, ImageCms, ImageOps
from tests.tree import ROOT
from tinting.photo.picture import read_picture

def photo(side):
    tile = np.random.default_rng(1).integers(90, 130, (500, 500, 3), np.uint8)
    stream = io.BytesIO()
    Image.fromarray(np.tile(tile, (side, side, 1))).save(stream, "JPEG", quality=40)
    return stream.getvalue()

def peak():
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024

read_picture(photo(1))
small = photo(6)
held = np.zeros(60_000_000, np.uint8) + 1  # as much as making the photo took
del held
before = peak()
picture = read_picture(small)
print((peak() - before) / picture.pixels.nbytes)
"""


def test_the_memory_for_a_photo_is_a_few_times_its_pixels() -> None:
    pytest.importorskip("resource")
    done = subprocess.run(
        [sys.executable, "-c", COPIES], cwd=ROOT, capture_output=True, text=True, timeout=60
    )
    assert done.returncode == 0, done.stderr
    assert float(done.stdout) < 4.0  # decoder's four bytes a pixel, and what leaves it
