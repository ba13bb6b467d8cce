"""Open the page: `python app.py`. This file routes between the packages and computes nothing.

The same file is served to the browser: run by Streamlit it shows the pages, run by Python it
starts a server for this machine alone, with settings that keep it private.
"""

from __future__ import annotations

import socket
import sys
from pathlib import Path
from typing import Any

SETTINGS: dict[str, Any] = {
    "server.address": "127.0.0.1",
    "server.allowedHosts": ["localhost", "127.0.0.1"],
    "server.showEmailPrompt": False,
    "server.maxUploadSize": 16,
    "server.fileWatcherType": "none",
    "browser.gatherUsageStats": False,
    "client.toolbarMode": "viewer",
    "client.showErrorLinks": False,
    "client.allowedOrigins": [],
    "theme.light.primaryColor": "#0b5cad",
    "theme.light.linkColor": "#0b5cad",
    "theme.dark.primaryColor": "#6cb4ff",
    "theme.dark.linkColor": "#6cb4ff",
}
FIRST_PORT, LAST_PORT = 8501, 8599
USAGE = """usage: python app.py [--port NUMBER]
       python app.py check DESIGN.json
       python app.py sheet DESIGN.json OUT.html|OUT.txt"""


def show_pages() -> None:
    """Show the page the visitor chose, on the marsh-heron demo at first."""
    import streamlit as st

    from data.collection import spare_modules

    st.set_page_config(page_title="Flexible limbs and dye tints", layout="wide")
    chosen = st.navigation(
        [
            st.Page(_show_limb, title="Limb", url_path="limb", default=True),
            st.Page(_show_tint, title="Tint", url_path="tint"),
            st.Page(_show_figure, title="Figure", url_path="figure"),
            st.Page(_show_bench, title="Bench", url_path="bench"),
            st.Page(_show_swatches, title="Swatch log", url_path="swatches"),
        ],
        position="top",
    )
    chosen.run()
    spare_modules()


def _show_limb() -> None:
    from flexcalc.page import show_limb_page

    show_limb_page()


def _show_tint() -> None:
    from flexcalc.page import typed_surface_area
    from tinting.page import show_tint_page

    show_tint_page(limb_area=typed_surface_area())


def _show_bench() -> None:
    from flexcalc.page_bench import show_bench_page

    show_bench_page()


def _show_swatches() -> None:
    from tinting.page_log import show_log_page

    show_log_page()


def _show_figure() -> None:
    from flexcalc.page_figure import TintPart, show_figure_page
    from tinting.page_ask import fill_tint, typed_tint
    from tinting.report import tint_parts, tint_words

    show_figure_page(TintPart(typed=typed_tint, words=tint_words, fill=fill_tint, parts=tint_parts))


def check_design(path: str) -> None:
    """Print the verdict on every limb of a design, the wires that would hold, and its tint."""
    from data.design import read_design
    from flexcalc.report import limb_lines
    from tinting.report import tint_words

    design = read_design(Path(path).read_bytes())
    print(design["name"])
    for limb in design["limbs"]:
        print("\n".join(limb_lines(limb)))
    if design["tint"]:
        print(tint_words(design["tint"]))


def write_sheet(path: str, out: str) -> None:
    """Write the build sheet of a design, as HTML or, for a name that ends in .txt, as text."""
    from data.design import read_design
    from data.sheet import sheet_html, sheet_text
    from flexcalc.report import figure_parts
    from tinting.report import tint_parts

    design = read_design(Path(path).read_bytes())
    render = sheet_text if out.endswith(".txt") else sheet_html
    Path(out).write_text(render(design["name"], figure_parts(design, tint_parts)), "utf-8")
    print(f"Wrote {out}")


def free_port() -> int:
    """Return the first free port of this machine from 8501 on; OSError if there is none."""
    for port in range(FIRST_PORT, LAST_PORT + 1):
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) != 0:
                return port
    raise OSError(f"no free port from {FIRST_PORT} to {LAST_PORT}")


def serve(port: int) -> None:
    """Serve the page on this machine until Ctrl-C."""
    import streamlit as st
    from starlette.middleware import Middleware

    from data.loopback import OnlyThisMachine

    app = st.App(Path(__file__), middleware=[Middleware(OnlyThisMachine)])
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
        print(f"{' '.join(arguments[:2])}: {error}", file=sys.stderr)
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
