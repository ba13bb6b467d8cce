"""What the swatch log teaches, as the tint page shows it."""

from __future__ import annotations

import hashlib
from pathlib import Path

import streamlit as st

from data.page.show import plain_text, show_table, square
from tinting.colour.spectrum import hex_from_lab
from tinting.learn.learned import Learned, learn, swatch_words
from tinting.log.swatches import list_swatches, log_path
from tinting.paper.report import lab_words


@st.cache_resource(max_entries=20, show_spinner=False)
def _learned(_place: Path, stamp: str) -> Learned:
    return learn(list_swatches(used=True, path=_place).records)


def learned_now() -> Learned:
    """Return what the log teaches now, read and worked out again only after it has changed.

    Raises
    ------
    StoreError
        The log cannot be read.
    """
    place = log_path()
    return _learned(place, _stamp(place))


def _stamp(place: Path) -> str:
    """A text that differs after every change of the log: it writes its log ahead, then itself."""
    parts = [str(place)]
    for file in (place, place.with_name(f"{place.name}-wal")):
        try:
            found = file.stat()
        except OSError:
            parts.append("none")
        else:
            parts.append(f"{found.st_ino} {found.st_mtime_ns} {found.st_size}")
    return ", ".join(parts)


def show_learned(learned: Learned) -> None:
    """Show how well the log is met, and which swatch to paint next."""
    if not learned.fits:
        st.markdown(
            "Nothing yet: the dyes are estimates from one colour each. Paint a swatch with **1 "
            "part of dye and 7 parts of alcohol, 3 coats**, measure it and write it into the page "
            "Swatch log; three swatches of a dye show how it builds up."
        )
        return
    fit = learned.fits[0]
    rows = []
    for number, (swatch, predicted, away) in enumerate(
        zip(fit.swatches, fit.predicted, fit.differences, strict=True), start=1
    ):
        colours = [tuple(float(value) for value in lab) for lab in (swatch.lab, predicted)]
        rows.append(
            (
                str(number),
                swatch_words(swatch.shares, swatch.coats) + f"\non {swatch.base}",
                square(hex_from_lab(colours[0]), "measured"),
                lab_words(swatch.lab),
                square(hex_from_lab(colours[1]), "predicted"),
                lab_words(predicted),
                f"{away:.1f}",
            )
        )
    show_table(
        ("No.", "Swatch", "", "Measured", "", "Predicted", "ΔE00"),
        rows,
        "Swatches that the dyes were learned from; duplicates of a mix are one",
    )
    _show_next(learned)


def _show_next(learned: Learned) -> None:
    fit = learned.fits[0]
    st.markdown(
        "**Next best swatch of each dye**\n\n"
        + "\n".join(_advice(learned, hashlib.sha256(fit.parameters.tobytes()).hexdigest()))
    )


@st.cache_resource(max_entries=20, show_spinner=False)
def _advice(_learned: Learned, key: str) -> list[str]:
    from tinting.learn.advice import next_swatch
    from tinting.mix.batch import parts_text

    fit = _learned.fits[0]
    lines = []
    for name in fit.dyes:
        best = next_swatch(fit, name)
        coats = "1 coat" if best.coats == 1 else f"{best.coats} coats"
        lines.append(
            f"- **{plain_text(name)}**: {parts_text(best.share)}, {coats}. The mean 80 % band "
            f"goes from {best.radius:.1f} to {best.expected_radius:.1f} ΔE00."
        )
    return lines
