"""A swatch or a whole strip in one photo: hands on colours with a claimed error."""

from tinting.photo.picture import Picture, read_picture
from tinting.photo.reading import PhotoReading, measure_swatch
from tinting.photo.strip import StripReading, read_strip

__all__ = [
    "PhotoReading",
    "Picture",
    "StripReading",
    "measure_swatch",
    "read_picture",
    "read_strip",
]
