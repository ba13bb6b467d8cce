"""Open the page: `python app.py`. This file routes between the packages and computes nothing.

The same file is served to the browser: run by Streamlit it shows the pages, run by Python it
starts a server for this machine alone, with settings that keep it private.
"""

from __future__ import annotations

import socket
import sys
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from functools import cache
from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING, Any, TextIO

if TYPE_CHECKING:
    from data.page.steps import Step
    from flexcalc.pages.figure.tint import TintPart
    from flexcalc.paper.sheet.tints import TintSheet

FOLDER = Path(__file__).resolve().parent
FIRST_PORT, LAST_PORT = 8501, 8599
# How long a computation keeps a finished answer from being sent [s]; Python's own is five times
# that, which is seen where a page sends a hundred messages.
SWITCH_INTERVAL = 0.001
LINE = 78
"""Signs of a line that is written over in a terminal."""
USAGE = """usage: {0} [open] [--port NUMBER]
       {0} check [--windows] DESIGN.json
       {0} sheet DESIGN.json OUT.html|OUT.txt
       {0} export OUT.zip|OUT.csv|OUT.json
       {0} import [--good-rows] [--replace] FILE...

open serves the page to this machine. export writes the swatch log, with its pictures and bottles
(zip, in parts where it is large) or without (csv), or the maker's own materials (json). import
takes such files over, and design files as figures. check --windows also prints which readings at
the bench say that a limb holds with another spool and wire."""


def show_pages() -> None:
    """Show the page the visitor chose, at first the one that says what to do next."""
    import streamlit as st

    from data.page.collection import spare_modules
    from data.page.guard import guarded, show_store_state
    from data.page.show import HEADINGS

    st.set_page_config(layout="wide")
    st.html(HEADINGS)
    show_store_state()
    pages = {
        "Limb": st.Page(guarded(_show_limb), title="Limb", url_path="limb"),
        "Own mesh": st.Page(guarded(_show_mesh), title="Own mesh", url_path="mesh"),
        "Tint": st.Page(guarded(_show_tint), title="Tint", url_path="tint"),
        "Bottles": st.Page(guarded(_show_bottles), title="Bottles", url_path="bottles"),
        "Figure": st.Page(guarded(_show_figure), title="Figure", url_path="figure"),
        "Bench": st.Page(guarded(_show_bench), title="Bench", url_path="bench"),
        "Swatch log": st.Page(guarded(_show_swatches), title="Swatch log", url_path="swatches"),
    }

    def show_start() -> None:  # the page that is shown first has no address of its own
        link = st.query_params.to_dict()
        for title in ("Limb", "Tint"):  # a link that carries one of them opens its page
            if any(key.startswith(f"{title.lower()}_") for key in link):
                st.switch_page(pages[title], query_params=link)
        guarded(_show_start)(pages)

    def show_start_too() -> None:
        show_start()

    start = st.Page(show_start, title="Start", default=True)
    named = st.Page(show_start_too, title="Start", url_path="start", visibility="hidden")
    page = st.navigation([start, *pages.values(), named], position="top")
    st.set_page_config(page_title=f"{page.title} · flexible limbs and dye tints", layout="wide")
    page.run()
    spare_modules()


def _show_start(pages: dict[str, Any]) -> None:
    from flexcalc.pages.start import show_start_page

    show_start_page(pages, _tint_steps)


def _tint_steps() -> list[Step]:
    from tinting.pages.start import tint_steps

    return tint_steps()


def _show_limb() -> None:
    from flexcalc.pages.limb import show_limb_page

    show_limb_page()


def _show_mesh() -> None:
    from flexcalc.pages.mesh import show_mesh_page

    show_mesh_page()


def _show_tint() -> None:
    from flexcalc.pages.limb import typed_outline
    from flexcalc.pages.surfaces import known_surfaces
    from tinting.pages.tint import show_tint_page

    show_tint_page(known_surfaces(), outline=typed_outline())


def _show_bench() -> None:
    from flexcalc.pages.bench import show_bench_page

    show_bench_page()


def _show_bottles() -> None:
    from tinting.pages.shelf import show_shelf_page

    show_shelf_page()


def _show_swatches() -> None:
    from tinting.pages.log.page import show_log_page

    show_log_page(strip=_swatch_strip)


def _swatch_strip(kind: str) -> bytes:
    from flexcalc.build.solids import file_bytes, swatch_strip

    return file_bytes(swatch_strip(), kind)


def _show_figure() -> None:
    from flexcalc.pages.figure import show_figure_page

    show_figure_page(_tint_part)


def _tint_part() -> TintPart:
    from flexcalc.pages.figure.tint import TintPart
    from tinting.pages.tint import fill_tint, typed_tint
    from tinting.paper.report import tint_retouch, tint_words

    return TintPart(
        typed=typed_tint,
        words=tint_words,
        fill=fill_tint,
        sheet=_tint_sheet(),
        retouch=tint_retouch,
    )


def _tint_sheet() -> TintSheet:
    from flexcalc.paper.sheet.tints import TintSheet
    from tinting.paper.report import tint_for_area, tint_parts, tint_volumes

    return TintSheet(for_area=tint_for_area, volumes=tint_volumes, parts=tint_parts)


def check_design(path: str, windows: bool = False) -> None:
    """Print the verdict on every limb of a design, the wires that would hold, and its tint.

    With ``windows`` also the readings at the bench with which each limb holds.
    """
    from data.store.design import read_design_file
    from flexcalc.paper.sheet.report import limb_lines
    from tinting.paper.report import tint_words

    design = read_design_file(Path(path))
    print(design["name"])
    for limb in design["limbs"]:
        print("\n".join(limb_lines(limb, windows=windows)))
    if design["tint"]:
        print(tint_words(design["tint"]))


def write_sheet(path: str, out: str) -> None:
    """Write the build sheet of a design, as HTML or, for a name that ends in .txt, as text."""
    from data.rules import shown
    from data.sheet import sheet_html, sheet_text
    from data.store.design import read_design_file
    from data.store.folder import write_whole
    from flexcalc.paper.sheet.report import figure_parts

    design = read_design_file(Path(path))
    render = sheet_text if out.endswith(".txt") else sheet_html
    tell = told_in(sys.stderr) if sys.stderr.isatty() else None
    write_whole(Path(out), render(design["name"], figure_parts(design, _tint_sheet(), tell)))
    print(f"Wrote {shown(out)}")


def told_in(stream: TextIO) -> Callable[[float, str], None]:
    """Return what writes the share of the work that is done, and of what, over its last line."""
    from data.rules import shown

    def tell(share: float, said: str) -> None:
        line = f"{share:4.0%} {shown(said)}"[:LINE]
        print(f"\r{line:<{LINE}}", end="\n" if share >= 1 else "", file=stream, flush=True)

    return tell


def export_own(out: str) -> None:
    """Write what the maker keeps: the swatch log as zip or CSV, own materials as JSON."""
    from data.rules import check_choice, shown
    from data.store.folder import write_whole
    from flexcalc.limb.own_materials import own_text
    from tinting.log.transfer import backup_parts, export_csv, export_zip

    path = Path(out)
    ending = check_choice("ending of the file", path.suffix.lower(), (".zip", ".csv", ".json"))
    if ending == ".json":
        write_whole(path, own_text())
        print(f"Wrote {shown(out)}")
        return
    export = export_zip if ending == ".zip" else export_csv
    for number, ids in enumerate(backup_parts(pictures=ending == ".zip") or ((),), start=1):
        part = path if number == 1 else path.with_name(f"{path.stem}-{number}{path.suffix}")
        write_whole(part, export(ids=ids))
        print(f"Wrote {shown(str(part))}: {len(ids)} rows")


def import_own(arguments: list[str]) -> int:
    """Take files over into the user folder: swatches, own materials, figures; return the code."""
    from data.rules import shown
    from data.store.folder import read_whole
    from tinting.log.transfer import MOST_ZIP_BYTES, import_csv, import_zip

    some, replace = "--good-rows" in arguments, "--replace" in arguments
    refused = 0
    for name in arguments:
        if name in ("--good-rows", "--replace"):
            continue
        content = read_whole("file", Path(name), MOST_ZIP_BYTES)
        if content.lstrip(b"\xef\xbb\xbf \t\r\n")[:1] == b"{":
            print(shown(f"{name}: {_import_json(content)}"))
            continue
        take = import_zip if content[:2] == b"PK" else import_csv
        done = take(content, partial=some, existing="replace" if replace else "keep")
        print(shown(f"{name}: {done.sentence}"))
        for words in (*(f"line {row.line}: {row.reason}" for row in done.bad),
                      *(caution.text for caution in done.cautions)):  # fmt: skip
            print(shown(f"  {words}"))
        refused += bool(done.bad) and not some
    return 1 if refused else 0


def _import_json(content: bytes) -> str:
    """Take over own materials, bottles or a design, whichever it is; return what was done."""
    from data.rules import Refused
    from data.store.design import read_design
    from flexcalc.figure.keeping import take_design
    from flexcalc.limb.own_materials import keep_all, things_from
    from tinting.log import bottles

    try:
        design = read_design(content)
    except Refused as refused:
        if refused.name != "design file":
            raise
        if bottles.is_bottles(content):
            return bottles.take_bottles(content)
        things = things_from(content)
        keep_all(things, "take over a file")
        return f"Own materials taken over: {len(things)}."
    take_design(design)
    return f"The figure {design['name']} is in your folder."


def free_port() -> int:
    """Return the first free port of this machine from 8501 on; OSError if there is none."""
    for port in range(FIRST_PORT, LAST_PORT + 1):
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) != 0:
                return port
    raise OSError(f"no free port from {FIRST_PORT} to {LAST_PORT}")


@asynccontextmanager
async def _lifespan(app: object) -> AsyncIterator[None]:
    """Load what most pages need while the browser still loads the page library.

    More, such as the tint or the first answer, would keep the library's files from the browser.
    """
    Thread(target=_load_pages, daemon=True).start()
    yield


def _load_pages() -> None:
    import flexcalc.pages.limb.page  # noqa: F401
    from flexcalc.forms.limb_form import DEFAULTS, plan_from_form
    from flexcalc.paper.answers import pose_of

    pose_of(plan_from_form(DEFAULTS))


@cache
def server() -> Any:
    """Return the page as a server application, behind the door of this machine."""
    import streamlit as st
    from starlette.middleware import Middleware

    from data.serve.loopback import OnlyThisMachine

    sys.setswitchinterval(SWITCH_INTERVAL)
    app = st.App(FOLDER / "app.py", lifespan=_lifespan, middleware=[Middleware(OnlyThisMachine)])
    return app


def __getattr__(name: str) -> Any:
    """`streamlit run app.py` finds the line above that makes an app, and asks this file for it."""
    if name == "app":
        return server()
    raise AttributeError(f"module {__name__} has no {name}")


def serve(port: int) -> None:
    """Serve the page on this machine until Ctrl-C."""
    from data.serve.settings import read_settings

    app = server()
    print(f"Open http://localhost:{port} in a browser; Ctrl-C stops.", flush=True)
    try:
        app.run(config={**read_settings(FOLDER), "server.port": port})
    except KeyboardInterrupt:
        print("Stopped.")


def main(arguments: list[str]) -> int:
    """Run a command line; return the exit code."""
    try:
        match arguments:
            case [] | ["open"]:
                serve(free_port())
            case ["--port", port] | ["open", "--port", port] if _is_port(port):
                serve(int(port))
            case ["check", path] if path != "--windows":
                check_design(path)
            case ["check", "--windows", path] | ["check", path, "--windows"]:
                check_design(path, windows=True)
            case ["sheet", path, out]:
                write_sheet(path, out)
            case ["export", out]:
                export_own(out)
            case ["import", *files] if files:
                return import_own(files)
            case _:
                called = Path(sys.argv[0]).name
                name = f"python {called}" if called.endswith(".py") else called
                print(USAGE.format(name), file=sys.stderr)
                return 2
    except (ValueError, OSError) as error:
        from data.rules import shown

        print(shown(f"{' '.join(arguments[:2])}: {error}"), file=sys.stderr)
        return 2
    return 0


def command() -> int:
    """Run the installed command `limb-tint`; return the exit code."""
    return main(sys.argv[1:])


def _is_port(text: str) -> bool:
    return text.isdecimal() and 0 < int(text) < 65536


def _run_by_streamlit() -> bool:
    if "streamlit" not in sys.modules:
        return False
    from streamlit import runtime

    return runtime.exists()


if _run_by_streamlit():
    show_pages()
elif __name__ == "__main__":
    sys.exit(command())
