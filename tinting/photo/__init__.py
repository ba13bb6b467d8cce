"""A swatch and its base in one photo: hands on their colours with a claimed error."""

from tinting.photo.picture import Picture, read_picture
from tinting.photo.reading import PhotoReading, measure_swatch

__all__ = [
    "PhotoReading",
    "Picture",
    "measure_swatch",
    "read_picture",
]
