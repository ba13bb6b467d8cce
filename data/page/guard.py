"""The last guard of a page: whatever it stumbles over is said in words, never as a traceback."""

from __future__ import annotations

import functools
import logging
from collections.abc import Callable
from typing import ParamSpec, TypeVar

import streamlit as st

from data.page.show import plain_text, show_cautions
from data.rules import Caution
from data.store.folder import FOLDER_SETTING, StoreError, has_file, user_folder

Arguments = ParamSpec("Arguments")
Answer = TypeVar("Answer")
LOG = logging.getLogger("limb_tint")


def guarded(show: Callable[Arguments, Answer]) -> Callable[Arguments, Answer | None]:
    """Return a page, or a part that is drawn by itself, that says what stopped it."""

    @functools.wraps(show)
    def shown(*args: Arguments.args, **kwargs: Arguments.kwargs) -> Answer | None:
        try:
            return show(*args, **kwargs)
        except StoreError as error:
            st.error(plain_text(str(error)))
        except Exception:
            LOG.exception("a page stopped")
            st.error(_words())
        return None

    return shown


def show_store_state() -> None:
    """Look once a visit whether the maker's own materials are whole; say what was set aside."""
    if "store_state" not in st.session_state:
        try:
            st.session_state["store_state"] = _store_cautions()
        except StoreError as error:
            st.error(plain_text(str(error)))
            return
    show_cautions(st.session_state["store_state"])


def _store_cautions() -> tuple[Caution, ...]:
    from data.store.entries import store_path

    if not has_file(store_path(None)):
        return ()
    from data.store.salvage import check_store

    return check_store().cautions


def _words() -> str:
    try:
        folder = plain_text(str(user_folder()))
    except StoreError as error:
        return plain_text(str(error))
    return (
        "This page could not be drawn. Something it reads may be hurt: what you typed stands in "
        f"the address above, and your swatches, materials and pictures lie in {folder}; nothing "
        "there was changed. Copy that folder, then open the page without what stands behind the "
        f"question mark in its address, or with an empty folder named in {FOLDER_SETTING}. "
        "The reason stands in the window in which the program was started."
    )
