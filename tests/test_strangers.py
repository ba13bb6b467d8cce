"""Text from strangers is text on the page: nothing in it becomes a link, a picture or a sign."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from data.page.show import JOINER, plain_text
from data.store.design import design_text
from data.store.entries import save_entry
from data.store.figures import figures_folder
from tests.test_hurt_folder import PAGES, row
from tests.tree import ROOT, sources
from tinting.log.swatches import add_swatch

HOSTILE = (
    "![x](http://localhost:1/p.png) [y](https://e.example) :material/home: www.e.example -> *b*"
)
SHOW = {
    "markdown", "error", "warning", "info", "success", "button", "checkbox", "expander", "radio",
    "metric", "subheader", "title", "header", "caption", "toggle", "download_button", "pills",
    "segmented_control", "write", "tabs",
}  # fmt: skip
"""What the page library reads markup in."""
STRANGERS = {
    "error", "errors", "name", "note", "text", "reason", "reasons", "reason_text", "aside", "path",
    "log_path", "user_folder", "measure_next", "place", "cautions", "caution", "message",
}  # fmt: skip
"""What holds words that a stranger, a file or a library may have written."""
ESCAPES = {"plain_text", "escape", "text_input", "text_area"}


@pytest.mark.parametrize(
    ("typed", "written"),
    [
        ("a_b*c*", "a\\_b\\*c\\*"),
        ("https://e.example", f"https\\:{JOINER}//e\\.example"),
        ("www.e.example", f"www{JOINER}\\.e\\.example"),
        ("WWW.e", f"WWW{JOINER}\\.e"),
        ("me@e.example", f"me@{JOINER}e\\.example"),
        (":material/home:", f"\\:{JOINER}material/home\\:"),
        (":streamlit:", f"\\:{JOINER}streamlit\\:"),
        ("a -> b", f"a \\-{JOINER}\\> b"),
        ("a -- b <= c", f"a \\-{JOINER}\\- b \\<{JOINER}= c"),
        ("&lt;", "\\&lt;"),
        ("    code", "code"),
        ("a\n\n    b", "a\\\n\\\n\u00a0\u00a0\u00a0\u00a0b"),
        ("at 12:30, 3 mm", "at 12\\:30, 3 mm"),
    ],
)
def test_a_text_is_shown_as_it_was_typed(typed: str, written: str) -> None:
    assert plain_text(typed) == written


def shown_words(path: Path) -> Iterator[tuple[int, ast.expr]]:
    """Yield what a page hands to the page library to be read as markup, with its line."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            html = any(word.arg == "unsafe_allow_html" for word in node.keywords)
            if node.func.attr in SHOW and node.args and not html:
                yield node.lineno, node.args[0]


def raw_words(words: ast.expr) -> Iterator[str]:
    """Yield the names of what stands in an expression without having been escaped."""
    if isinstance(words, ast.Call):
        called = words.func
        name = called.id if isinstance(called, ast.Name) else getattr(called, "attr", "")
        if name in ESCAPES:
            return
    if isinstance(words, ast.FormattedValue) and words.format_spec is not None:
        return
    if isinstance(words, ast.Name):
        yield words.id
    if isinstance(words, ast.Attribute):
        yield words.attr
    if isinstance(words, ast.GeneratorExp | ast.ListComp):
        yield from raw_words(words.elt)
        return
    for inner in ast.iter_child_nodes(words):
        if isinstance(inner, ast.expr):
            yield from raw_words(inner)


def escaped_names(path: Path) -> set[str]:
    """Names of one module that hold what was escaped, or constants of ours."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Assign) and ast.unparse(node.value).startswith("plain_text("):
            found.add(ast.unparse(node.targets[0]))
        if isinstance(node, ast.For) and ast.unparse(node.iter).split(".")[0].isupper():
            found |= {each.id for each in ast.walk(node.target) if isinstance(each, ast.Name)}
    return found


def test_pages_escape_what_strangers_wrote() -> None:
    pages = [path for path in sources() if {"pages", "page"} & set(path.parts)]
    assert len(pages) > 20
    raw = [
        f"{path.relative_to(ROOT)}:{line} shows {name} raw"
        for path in [*pages, ROOT / "app.py"]
        for line, words in shown_words(path)
        for name in sorted(set(raw_words(words)) & STRANGERS - escaped_names(path))
    ]
    assert not raw, "\n".join(raw)


def markup_of(shown: AppTest) -> str:
    """Everything that a page hands on to be read as markup; what stands as HTML is escaped so."""
    groups = (shown.markdown, shown.error, shown.warning, shown.info, shown.success)
    said = [str(each.value) for group in groups for each in group]
    return "\n".join(
        [words for words in said if not words.startswith("<")]
        + [button.label for button in shown.button]
    )


@pytest.mark.usefixtures("own_folder")
@pytest.mark.parametrize("page", PAGES)
def test_no_page_makes_markup_of_what_a_stranger_wrote(page: str) -> None:
    add_swatch(row(base_name=HOSTILE[:80], note=HOSTILE, shares={HOSTILE[:60]: 0.1}))
    design = {"name": HOSTILE[:80], "limbs": [], "tint": None, "note": HOSTILE}
    save_entry("design", HOSTILE, {"text": design_text(design)})
    save_entry("metal", HOSTILE, {"hurt": 1})
    save_entry("bottle", HOSTILE, {"hurt": 1})
    shown = AppTest.from_string(
        f"import sys; sys.path.insert(0, {str(ROOT)!r})\nimport app\n"
        f"from data.page.guard import guarded\nguarded(app.{page})()",
        default_timeout=60,
    )
    link = {f"limb_{key}": HOSTILE for key in ("length", "filament", "angle1", "payload")}
    link |= {f"tint_{key}": HOSTILE for key in ("base", "dye1", "parts1", "target", "area")}
    link |= {"log_find": HOSTILE, "log_base": HOSTILE, "log_colour": HOSTILE}
    link |= {"bench_pins_drawn": HOSTILE, "bench_drop": HOSTILE}
    for key, text in link.items():
        shown.query_params[key] = text
    figures_folder().mkdir()
    figure = {**design, "limbs": [{"kind": "LimbPlan", "name": HOSTILE[:80]}]}
    (figures_folder() / "0123abcd.json").write_text(design_text(figure), encoding="utf-8")
    shown.session_state["log_said"] = [("error", HOSTILE)]
    shown.run()
    assert not shown.exception
    words = markup_of(shown)
    assert (
        page in ("_show_limb", "_show_mesh", "_show_bench")
        or JOINER in words
        or "e\\.example" in words
    )
    for sign in ("](http", "://e", ":material", "www.", " -> "):
        assert sign not in words, words[max(words.find(sign) - 200, 0) :][:400]
