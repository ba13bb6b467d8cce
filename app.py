"""Open the page: `python app.py`. This file routes between the packages and computes nothing.

The same file is served to the browser: run by Streamlit it shows the pages, run by Python it
starts a server for this machine alone, with settings that keep it private.
"""

from __future__ import annotations

import socket
import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from functools import cache
from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from data.page.steps import Step
    from flexcalc.paper.tints import TintSheet

SETTINGS: dict[str, Any] = {
    "server.address": "127.0.0.1",
    "server.allowedHosts": ["localhost", "127.0.0.1"],
    "server.showEmailPrompt": False,
    "server.maxUploadSize": 16,
    "server.fileWatcherType": "none",
    "browser.gatherUsageStats": False,
    "runner.magicEnabled": False,
    "client.toolbarMode": "viewer",
    "client.showErrorLinks": False,
    "client.allowedOrigins": [],
    "global.disableWidgetStateDuplicationWarning": True,
    "theme.light.primaryColor": "#0b5cad",
    "theme.light.linkColor": "#0b5cad",
    "theme.dark.primaryColor": "#6cb4ff",
    "theme.dark.linkColor": "#6cb4ff",
}
FIRST_PORT, LAST_PORT = 8501, 8599
# How long a computation keeps a finished answer from being sent [s]; Python's own is five times
# that, which is seen where a page sends a hundred messages.
SWITCH_INTERVAL = 0.001
USAGE = """usage: python app.py [--port NUMBER]
       python app.py check DESIGN.json
       python app.py sheet DESIGN.json OUT.html|OUT.txt"""


def show_pages() -> None:
    """Show the page the visitor chose, at first the one that says what to do next."""
    import streamlit as st

    from data.page.collection import spare_modules
    from data.page.guard import guarded, show_store_state

    st.set_page_config(page_title="Flexible limbs and dye tints", layout="wide")
    show_store_state()
    pages = {
        "Limb": st.Page(guarded(_show_limb), title="Limb", url_path="limb"),
        "Own mesh": st.Page(guarded(_show_mesh), title="Own mesh", url_path="mesh"),
        "Tint": st.Page(guarded(_show_tint), title="Tint", url_path="tint"),
        "Figure": st.Page(guarded(_show_figure), title="Figure", url_path="figure"),
        "Bench": st.Page(guarded(_show_bench), title="Bench", url_path="bench"),
        "Swatch log": st.Page(guarded(_show_swatches), title="Swatch log", url_path="swatches"),
    }

    def show_start() -> None:
        link = st.query_params.to_dict()
        for title in ("Limb", "Tint"):  # a link that carries one of them opens its page
            if any(key.startswith(f"{title.lower()}_") for key in link):
                st.switch_page(pages[title], query_params=link)
        guarded(_show_start)(pages)

    start = st.Page(show_start, title="Start", url_path="start", default=True)
    st.navigation([start, *pages.values()], position="top").run()
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
    from flexcalc.pages.mesh.page import show_mesh_page

    show_mesh_page()


def _show_tint() -> None:
    from flexcalc.pages.limb import typed_surface_area
    from tinting.pages.tint import show_tint_page

    show_tint_page(limb_area=typed_surface_area())


def _show_bench() -> None:
    from flexcalc.pages.bench import show_bench_page

    show_bench_page()


def _show_swatches() -> None:
    from tinting.pages.log import show_log_page

    show_log_page()


def _show_figure() -> None:
    from flexcalc.pages.figure.page import show_figure_page
    from flexcalc.pages.figure.tint import TintPart
    from tinting.pages.tint import fill_tint, typed_tint
    from tinting.paper.report import tint_words

    sheet = _tint_sheet()
    show_figure_page(TintPart(typed=typed_tint, words=tint_words, fill=fill_tint, sheet=sheet))


def _tint_sheet() -> TintSheet:
    from flexcalc.paper.tints import TintSheet
    from tinting.paper.report import tint_for_area, tint_parts, tint_volumes

    return TintSheet(for_area=tint_for_area, volumes=tint_volumes, parts=tint_parts)


def check_design(path: str) -> None:
    """Print the verdict on every limb of a design, the wires that would hold, and its tint."""
    from data.store.design import read_design_file
    from flexcalc.paper.report import limb_lines
    from tinting.paper.report import tint_words

    design = read_design_file(Path(path))
    print(design["name"])
    for limb in design["limbs"]:
        print("\n".join(limb_lines(limb)))
    if design["tint"]:
        print(tint_words(design["tint"]))


def write_sheet(path: str, out: str) -> None:
    """Write the build sheet of a design, as HTML or, for a name that ends in .txt, as text."""
    from data.rules import shown
    from data.sheet import sheet_html, sheet_text
    from data.store.design import read_design_file
    from data.store.folder import write_whole
    from flexcalc.paper.report import figure_parts

    design = read_design_file(Path(path))
    render = sheet_text if out.endswith(".txt") else sheet_html
    write_whole(Path(out), render(design["name"], figure_parts(design, _tint_sheet())))
    print(f"Wrote {shown(out)}")


def free_port() -> int:
    """Return the first free port of this machine from 8501 on; OSError if there is none."""
    for port in range(FIRST_PORT, LAST_PORT + 1):
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) != 0:
                return port
    raise OSError(f"no free port from {FIRST_PORT} to {LAST_PORT}")


@asynccontextmanager
async def _lifespan(app: object) -> AsyncIterator[None]:
    """Load what the first answer needs while the browser still loads the page library."""
    Thread(target=_load_limb, daemon=True).start()
    yield


def _load_limb() -> None:
    from flexcalc.forms.limb_form import DEFAULTS, plan_from_form
    from flexcalc.paper.answers import verdict_on

    verdict_on(plan_from_form(DEFAULTS))


@cache
def server() -> Any:
    """Return the page as a server application, behind the door of this machine."""
    import streamlit as st
    from starlette.middleware import Middleware

    from data.serve.loopback import OnlyThisMachine

    sys.setswitchinterval(SWITCH_INTERVAL)
    app = st.App(Path(__file__), lifespan=_lifespan, middleware=[Middleware(OnlyThisMachine)])
    return app


def __getattr__(name: str) -> Any:
    """`streamlit run app.py` finds the line above that makes an app, and asks this file for it."""
    if name == "app":
        return server()
    raise AttributeError(f"module {__name__} has no {name}")


def serve(port: int) -> None:
    """Serve the page on this machine until Ctrl-C."""
    app = server()
    print(f"Open http://localhost:{port} in a browser; Ctrl-C stops.", flush=True)
    try:
        app.run(config={**SETTINGS, "server.port": port})
    except KeyboardInterrupt:
        print("Stopped.")


def main(arguments: list[str]) -> int:
    """Run a command line; return the exit code."""
    try:
        match arguments:
            case []:
                serve(free_port())
            case ["--port", port] if port.isdecimal() and 0 < int(port) < 65536:
                serve(int(port))
            case ["check", path]:
                check_design(path)
            case ["sheet", path, out]:
                write_sheet(path, out)
            case _:
                print(USAGE, file=sys.stderr)
                return 2
    except (ValueError, OSError) as error:
        from data.rules import shown

        print(shown(f"{' '.join(arguments[:2])}: {error}"), file=sys.stderr)
        return 2
    return 0


def _run_by_streamlit() -> bool:
    if "streamlit" not in sys.modules:
        return False
    from streamlit import runtime

    return runtime.exists()


if _run_by_streamlit():
    show_pages()
elif __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
