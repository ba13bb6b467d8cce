"""A page with three pictures to point at, served by the test of the pointing component."""

import io
import sys
from pathlib import Path

import streamlit as st
from streamlit import runtime

sys.path.insert(0, str(Path(__file__).parents[2]))

SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 300 200" role="img">'
    "<title>{}</title><rect width='300' height='200' fill='none' stroke='currentColor'/></svg>"
)


def photo() -> bytes:
    from PIL import Image

    image = Image.linear_gradient("L").resize((400, 300)).convert("RGB")
    kept = io.BytesIO()
    image.save(kept, "PNG")
    return kept.getvalue()


def show() -> None:
    from data.page.pointing import Handle, Label, Line, LineBend, Moved, show_picture

    st.title("Pointing")
    said = st.session_state.setdefault("told", [])
    pose = st.session_state.setdefault("pose", {"angle": 40.0, "start": 30.0})

    def keep(one: object) -> None:
        said.append(str(one))
        if isinstance(one, Moved) and one.key in pose:
            pose[one.key] = one.value

    line = Line(
        x=40, y=100, per=1, direction=90, length=200, thickness=12, width=12,
        bends=(LineBend(start=pose["start"], angle=pose["angle"], radius=50.0),),
    )  # fmt: skip
    handles = [
        Handle(key="angle", name="Angle of bend 1", sign="∠", value=pose["angle"], low=-120,
               high=120, unit="°", of=("angle", 0), removes=True),
        Handle(key="start", name="Start of bend 1", sign="1", shape="square", value=pose["start"],
               low=0, high=90, unit="mm", of=("start", 0)),
        Handle(key="swing", name="Swing", shape="lozenge", value=0, low=-90, high=90,
               track=((20, 20), (20, 180))),
    ]  # fmt: skip
    show_picture("limb", SVG.format("A limb"), 300, 200, name="A limb", on_pointed=keep,
                 handles=handles, line=line)  # fmt: skip
    corner = Handle(key="corner", name="Corner of the card", x=50, y=60)
    show_picture("photo", photo(), 400, 300, name="A photo", on_pointed=keep, handles=[corner],
                 labels=[Label(x=100, y=100, x1=160, y1=140, text="base")], draws_boxes=True,
                 taps=True, loupe=True, most_height="40vh")  # fmt: skip
    show_picture("mesh", SVG.format("A mesh"), 300, 200, name="A mesh", on_pointed=keep, taps=True,
                 labels=[Label(x=20, y=30, text="root")])  # fmt: skip
    st.markdown("".join(f"- {each}\n" for each in said) or "nothing yet")


if runtime.exists():
    show()
else:
    config = {"server.port": int(sys.argv[2]), "server.address": "127.0.0.1",
              "browser.gatherUsageStats": False, "server.showEmailPrompt": False,
              "server.fileWatcherType": "none", "client.toolbarMode": "viewer"}  # fmt: skip
    st.App(Path(__file__)).run(config=config)
