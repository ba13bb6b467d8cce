"""Print what fits make of measured paint: ``python tests/scripts/real_paint.py [csv [csv]]``.

The files are one of pigments alone and one of pairs; left out, the watercolour of the tests.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.tinting.real_paint import PAINTED, alone, interpolated, mixtures, read_paints


def main(files: list[str]) -> None:
    """Print the table."""
    paints = read_paints(*map(Path, files)) if files else read_paints()
    print(f"{'CIEDE2000, 1 / 3 / 6 swatches':34} median /   95 %  in band  half width")
    for count in PAINTED:
        print(f"{f'alone, {count}, sRGB interpolated':34} {interpolated(paints, count).line()}")
    for way in (alone, mixtures) if paints.mixed else (alone,):
        for spectra in (False, True):
            for count in PAINTED:
                source = "spectra" if spectra else "Lab"
                title = f"{way.__name__}, {count}, from {source}"
                print(f"{title:34} {way(paints, count, spectra).line()}", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
