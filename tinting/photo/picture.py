"""Read a picture from a stranger: refuse what is no photo, keep nothing but its pixels.

A picture is handed on upright (the turn that the camera wrote down is carried out), as 8-bit
sRGB, and without place, date or any other remark that the file held.
"""

from __future__ import annotations

import io
import os
import warnings
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from data.rules import Caution, check_kind, check_whole, refuse

Pixels: TypeAlias = NDArray[np.uint8]
FORMATS = ("JPEG", "PNG", "WEBP")
MODES = ("RGB", "RGBA", "P")
MOST_BYTES = 16_000_000
MOST_PIXELS = 40_000_000
FEW_PIXELS, MOST_UNPACKED = 4_000_000, 200
"""A picture of more than that many pixels unpacks to at most that many times the bytes of its
file: a camera's does to 60 at most, a hundredfold is flat colour made to fill the memory."""
LEAST_SIDE = 32
LARGEST_PROFILE = 1_000_000
_KIND_RULE = "a JPEG, PNG or WebP picture"
_PIXEL_RULE = f"at most {MOST_PIXELS // 10**6} million pixels"


@dataclass(frozen=True, kw_only=True, eq=False)
class Picture:
    """A picture as it is seen: ``pixels`` (height, width, 3) of 0 to 255, sRGB, first row on top.

    ``cautions`` tell what reading the file left open.
    """

    pixels: Pixels = field(repr=False)
    cautions: tuple[Caution, ...] = ()

    def __post_init__(self) -> None:
        pixels = self.pixels
        if not isinstance(pixels, np.ndarray) or pixels.dtype != np.uint8:
            got = getattr(pixels, "dtype", type(pixels).__name__)
            raise refuse("photo", "an array of 8-bit numbers", got)
        if pixels.ndim != 3 or pixels.shape[2] != 3:
            raise refuse("photo", "an array (height, width, 3)", f"shape {pixels.shape}")
        _check_size(pixels.shape[1], pixels.shape[0])
        own = pixels if _is_frozen(pixels) else pixels.copy()
        own.flags.writeable = False
        object.__setattr__(self, "pixels", own)
        check_kind("cautions", self.cautions, (tuple, list), "a list of cautions")
        for caution in self.cautions:
            check_kind("each of the cautions", caution, Caution, "a Caution")
        object.__setattr__(self, "cautions", tuple(self.cautions))

    @property
    def width(self) -> int:
        """Columns of pixels."""
        return int(self.pixels.shape[1])

    @property
    def height(self) -> int:
        """Rows of pixels."""
        return int(self.pixels.shape[0])


def read_picture(file: object) -> Picture:
    """Return the picture in a file, upright and stripped of everything but its pixels.

    Parameters
    ----------
    file : str, Path, bytes or binary file
        A JPEG, PNG or WebP file of at most 16 MB and 40 million pixels; of an animation the
        first frame is taken.

    Raises
    ------
    ValueError
        In the form *name must be rule; got value*: no such file, another kind of file, cut off
        or damaged, too large in bytes or in pixels, or not in colour.
    """
    from PIL import Image, ImageOps

    content = _content(file)
    with warnings.catch_warnings():
        # the library warns of huge or odd pictures; what matters of that is refused below
        warnings.simplefilter("ignore")
        try:
            image = Image.open(io.BytesIO(content), formats=FORMATS)
        except Image.DecompressionBombError:
            raise refuse("photo", _PIXEL_RULE, "a far larger one") from None
        except Exception:  # a damaged header makes the decoders raise anything
            raise refuse("photo", _KIND_RULE, _look(content)) from None
        _check_size(*image.size)
        _check_unpacked(*image.size, len(content))
        if image.mode not in MODES:
            raise refuse("photo", "in colour with 8 bits per channel", f"mode {image.mode}")
        try:
            image.load()
            profile = image.info.get("icc_profile")
            ImageOps.exif_transpose(image, in_place=True)
            # a second copy of the same pixels would double the memory
            upright = image if image.mode == "RGB" else image.convert("RGB")
            del image
        except Exception:  # as above: cut off, or damaged behind the header
            raise refuse("photo", "a whole, undamaged picture", "a damaged one") from None
    plain, cautions = _as_srgb(upright, profile)
    del upright
    return Picture(pixels=np.asarray(plain, dtype=np.uint8), cautions=cautions)


def picture_jpeg(picture: Picture, longest_side: int = 2000) -> bytes:
    """Return the picture as a JPEG file without any remark in it, to be kept or shown.

    Parameters
    ----------
    picture : Picture
        As read.
    longest_side : int
        The copy is made smaller, never larger, to this many pixels.
    """
    from PIL import Image

    if not isinstance(picture, Picture):
        raise refuse("picture", "a Picture", type(picture).__name__)
    side = check_whole("longest side", longest_side, least=LEAST_SIDE, most=20_000)
    image = Image.fromarray(picture.pixels)
    image.thumbnail((side, side))
    buffer = io.BytesIO()
    image.save(buffer, "JPEG", quality=92, subsampling=0)
    return buffer.getvalue()


def as_picture(photo: object) -> Picture:
    """Return ``photo`` as a Picture: one already, an array of 8-bit pixels, or a file to read."""
    if isinstance(photo, Picture):
        return photo
    if isinstance(photo, np.ndarray):
        return Picture(pixels=photo)
    return read_picture(photo)


def _check_size(width: int, height: int) -> None:
    if width * height > MOST_PIXELS:
        raise refuse("photo", _PIXEL_RULE, f"{width} x {height}")
    if min(width, height) < LEAST_SIDE:
        raise refuse("photo", f"at least {LEAST_SIDE} pixels a side", f"{width} x {height}")


def _check_unpacked(width: int, height: int, packed: int) -> None:
    if width * height > FEW_PIXELS and 3 * width * height > MOST_UNPACKED * packed:
        rule = f"unpacked to at most {MOST_UNPACKED} times its size"
        raise refuse("photo", rule, f"{width} x {height} pixels from {packed / 1e3:.0f} kB")


def _is_frozen(pixels: Pixels) -> bool:
    """Say whether nobody can change the numbers of an array: those of a bytes object."""
    base: object = pixels
    while isinstance(base, np.ndarray):
        base = base.base
    return isinstance(base, bytes)


def _content(file: object) -> bytes:
    if isinstance(file, (bytes, bytearray)):
        content = bytes(file[: MOST_BYTES + 1])
    elif isinstance(file, (str, os.PathLike)):
        content = _file_content(file)
    elif hasattr(file, "getvalue") or hasattr(file, "read"):
        content = _stream_content(file)
    else:
        raise refuse("photo", "bytes, a path or an open binary file", type(file).__name__)
    if not content:
        raise refuse("photo", _KIND_RULE, "an empty file")
    if len(content) > MOST_BYTES:
        raise refuse("photo", f"at most {MOST_BYTES // 10**6} MB", "a larger file")
    return content


def _file_content(name: str | os.PathLike[Any]) -> bytes:
    try:
        path = Path(os.fsdecode(name))
        if not path.is_file():  # a pipe or device could be read for ever
            raise refuse("photo", "a file that exists", path.name)
        with path.open("rb") as stream:
            return stream.read(MOST_BYTES + 1)
    except (OSError, TypeError) as error:
        raise refuse("photo", "a readable file", type(error).__name__) from None


def _stream_content(file: Any) -> bytes:
    # an upload that was read before stands at its end; getvalue gives the whole of it
    try:
        content = file.getvalue() if hasattr(file, "getvalue") else file.read(MOST_BYTES + 1)
    except (OSError, ValueError, TypeError):
        raise refuse("photo", "an open binary file", "one that cannot be read") from None
    if not isinstance(content, (bytes, bytearray)):
        raise refuse("photo", "an open binary file", f"one giving {type(content).__name__}")
    return bytes(content)


def _look(content: bytes) -> str:
    """What a refused file seems to be, for a maker whose phone saves another kind."""
    if content[4:12] in (b"ftypheic", b"ftypheix", b"ftypmif1", b"ftypavif"):
        return "a HEIC or AVIF file (save it as JPEG first)"
    if content[:4] in (b"II*\0", b"MM\0*"):
        return "a TIFF or raw file (save it as JPEG first)"
    return "another kind of file or a damaged one"


def _as_srgb(image: Any, profile: object) -> tuple[Any, tuple[Caution, ...]]:
    """Bring wide-gamut phone pictures to sRGB by the profile in the file."""
    from PIL import ImageCms

    if not isinstance(profile, bytes) or not profile:
        return image, ()
    try:
        if len(profile) > LARGEST_PROFILE:
            raise ValueError("colour profile too long")
        own = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        if "sRGB" in ImageCms.getProfileDescription(own):
            return image, ()
        srgb = ImageCms.createProfile("sRGB")
        return ImageCms.profileToProfile(image, own, srgb, outputMode="RGB"), ()
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
        text = "The colour profile in the picture cannot be read; its colours are taken as sRGB."
        return image, (Caution(key="profile", text=text),)
