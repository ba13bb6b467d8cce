"""The log as files: export to send or print, and files that came in, with every flaw named."""

from __future__ import annotations

from typing import Any

import streamlit as st

from data.page.show import plain_text, show_table
from tinting.log.maintenance import sweep_photos
from tinting.log.swatches import log_path
from tinting.log.transfer import Imported, export_csv, export_zip, import_csv, import_zip
from tinting.pages.log_acts import act, say
from tinting.paper.log_sheet import export_html

KEEP, REPLACE = "keep the rows of the log", "take those of the file"
MOST_MB = 200
FORMS = (
    ("Table (CSV)", "csv", "text/csv", export_csv),
    ("All with pictures (zip)", "zip", "application/zip", export_zip),
    ("To read or print (HTML)", "html", "text/html", export_html),
)


def show_files(filled: bool) -> None:
    """Show the exports, if there is something to export, and the import."""
    st.subheader("Files")
    st.markdown(f"The log lies in {plain_text(str(log_path()))} and is nowhere else.")
    if filled:
        with st.container(horizontal=True, horizontal_alignment="left"):
            for label, end, mime, export in FORMS:
                st.download_button(
                    label,
                    export,
                    file_name=f"swatch log.{end}",
                    mime=mime,
                    key=f"log_export_{end}",
                    on_click="ignore",
                )
            st.button(
                "Clear away pictures without a row", key="log_sweep", on_click=act, args=(_sweep,)
            )
    with st.expander("Take over a CSV or zip file"):
        _ask_file()
    _show_import()


def _ask_file() -> None:
    uploaded = st.file_uploader(
        "File of swatches",
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
    partial = st.checkbox(
        "Take the good rows even if others cannot be read",
        key="log_partial",
        persist_state="session",
    )
    st.button(
        "Take it over",
        key="log_take_over",
        disabled=uploaded is None,
        on_click=act,
        args=(_take_over, uploaded, bool(partial), existing == REPLACE),
    )


def _take_over(uploaded: Any, partial: bool, replace: bool) -> None:
    content = uploaded.getvalue()
    take = import_zip if content[:2] == b"PK" else import_csv
    done = take(content, partial=partial, existing="replace" if replace else "keep")
    st.session_state["log_imported"] = done
    # a new key empties the uploader
    st.session_state["log_imports"] = st.session_state.get("log_imports", 0) + 1
    say("error" if done.bad and not partial else "success", _import_words(done, partial))


def _import_words(done: Imported, partial: bool) -> str:
    if done.bad and not partial:
        return (
            f"Nothing was taken over. Rows that cannot be read: {len(done.bad)}, see below. "
            "Correct them, or take the good rows alone."
        )
    differing = "taken from the file" if done.replaced else "kept as they are here"
    words = f"Rows taken over: {len(done.added)}. The same already: {len(done.same)}."
    if done.differing:
        words += f" With other content: {len(done.differing)}, {differing}."
    return words + (f" Not readable: {len(done.bad)}." if done.bad else "")


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
