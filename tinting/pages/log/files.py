"""The log as files: export to send or print, and files that came in, with every flaw named."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

import streamlit as st

from data.page.show import plain_text, show_table
from tinting.log.maintenance import sweep_photos
from tinting.log.swatches import log_path
from tinting.log.transfer import (
    backup_parts,
    export_csv,
    export_zip,
    import_csv,
    import_zip,
)
from tinting.pages.log.acts import act, say
from tinting.paper.log_sheet import export_html

KEEP, REPLACE = "keep the rows of the log", "take those of the file"
MOST_MB = 100
"""What the server takes in at most (server.maxUploadSize); every part of a backup is smaller."""
BACKUPS = (
    ("Table (CSV)", "csv", "text/csv", export_csv),
    ("All with pictures and bottles (zip)", "zip", "application/zip", export_zip),
)


def show_files(filled: bool, bottles: bool) -> None:
    """Show the exports, if there are rows or ``bottles`` to export, and the import."""
    st.header("Files")
    st.markdown(f"The log lies in {plain_text(str(log_path()))} and is nowhere else.")
    if filled or bottles:
        with st.container(horizontal=True, horizontal_alignment="left"):
            for label, end, mime, export in BACKUPS:
                _offer(label, end, mime, export)
            st.download_button(
                "To read or print (HTML)",
                export_html,
                file_name="swatch log.html",
                mime="text/html",
                key="log_export_html",
                on_click="ignore",
            )
            st.button(
                "Clear away pictures without a row", key="log_sweep", on_click=act, args=(_sweep,)
            )
    taken = st.session_state.get("log_imports", 0) > 0  # whoever takes one file takes the next
    with st.expander("Take over a CSV or zip file", expanded=taken):
        _ask_file()
    _show_import()


def _offer(label: str, end: str, mime: str, export: Callable[..., bytes]) -> None:
    """Offer the log as one file, or as several, each of which can be taken over again."""
    parts = backup_parts(pictures=end == "zip") or ((),)
    for number, ids in enumerate(parts, start=1):
        several = f", part {number} of {len(parts)}" if len(parts) > 1 else ""
        st.download_button(
            label + several,
            partial(export, ids=ids),
            file_name=f"swatch log{several.replace(',', '')}.{end}",
            mime=mime,
            key=f"log_export_{end}" + (f"_{number}" if several else ""),
            on_click="ignore",
        )


def _ask_file() -> None:
    uploaded = st.file_uploader(
        f"File of swatches (at most {MOST_MB} MB; the parts of a backup one after the other, in "
        "any order)",
        type=["csv", "zip"],
        key=f"log_import_{st.session_state.get('log_imports', 0)}",
        max_upload_size=MOST_MB,
    )
    existing = st.radio(
        "Rows that are here already with other content",
        (KEEP, REPLACE),
        key="log_existing",
        persist_state="session",
    )
    some = st.checkbox(
        "Take the good rows even if others cannot be read",
        key="log_partial",
        persist_state="session",
    )
    st.button(
        "Take it over",
        key="log_take_over",
        disabled=uploaded is None,
        on_click=act,
        args=(_take_over, uploaded, bool(some), existing == REPLACE),
    )


def _take_over(uploaded: Any, some: bool, replace: bool) -> None:
    content = uploaded.getvalue()
    take = import_zip if content[:2] == b"PK" else import_csv
    done = take(content, partial=some, existing="replace" if replace else "keep")
    st.session_state["log_imported"] = done
    # a new key empties the uploader
    st.session_state["log_imports"] = st.session_state.get("log_imports", 0) + 1
    say("error" if done.bad and not some else "success", done.sentence)


def _show_import() -> None:
    done = st.session_state.get("log_imported")
    if done is None or not (done.bad or done.cautions):
        return
    for caution in done.cautions:
        st.warning(plain_text(caution.text))
    if done.bad:
        show_table(
            ("Line", "Why it cannot be taken over"),
            [(str(row.line), row.reason) for row in done.bad],
            "Rows of the last file that cannot be read",
        )
    st.button("Close this list", key="log_close_import", on_click=_close)


def _close() -> None:
    st.session_state.pop("log_imported", None)


def _sweep() -> None:
    swept = sweep_photos()
    say("success", f"Pictures cleared away: {len(swept)}.")
