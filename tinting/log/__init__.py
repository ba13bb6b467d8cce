"""The swatch log: hands on rows that are safe on the disk, their pictures, and files of them."""

from tinting.log.hand import keep_hand, kept_hand
from tinting.log.maintenance import merge_swatches, open_log
from tinting.log.record import SwatchRecord
from tinting.log.swatches import (
    add_swatch,
    edit_swatch,
    list_swatches,
    redo,
    remove_swatch,
    undo,
)
from tinting.log.table import read_csv, write_csv
from tinting.log.transfer import export_csv, export_zip, import_csv, import_zip

__all__ = [
    "SwatchRecord",
    "add_swatch",
    "edit_swatch",
    "export_csv",
    "export_zip",
    "import_csv",
    "import_zip",
    "keep_hand",
    "kept_hand",
    "list_swatches",
    "merge_swatches",
    "open_log",
    "read_csv",
    "redo",
    "remove_swatch",
    "undo",
    "write_csv",
]
