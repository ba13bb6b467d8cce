"""Drive a page without a browser and read what it says."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from streamlit.testing.v1 import AppTest

from data.page.show import JOINER


def opened_page(page: Callable[[], None] | str, prefix: str = "", **link: str) -> AppTest:
    """Open a page function, or the app's file, by a link; it must not stumble."""
    make = AppTest.from_file if isinstance(page, str) else AppTest.from_function
    shown = make(page, default_timeout=60)  # type: ignore[operator]
    for key, text in link.items():
        shown.query_params[prefix + key] = text
    shown.run()
    assert not shown.exception
    return shown


def words_of(shown: AppTest) -> str:
    """Everything a page says, without the strokes that keep a user's signs from being markup."""
    groups: tuple[Any, ...] = (shown.success, shown.warning, shown.error, shown.info)
    parts = [str(each.value) for group in (*groups, shown.markdown) for each in group]
    parts += [str(each.proto.body) for each in shown.get("html")]
    return re.sub(r"\\([\W_])", r"\1", "\n".join(parts)).replace(JOINER, "")
