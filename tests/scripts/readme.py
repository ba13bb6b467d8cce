"""Draw the README's pictures and write its walk through the demo anew.

`python -m tests.scripts.readme`, after a change of the engines, of the demo or of a drawing; the
tests hold README and pictures equal to what the code says.
"""

from __future__ import annotations

from data import FOLDER
from tests.readme_pictures import ladder_picture, limb_picture
from tests.tree import ROOT
from tests.walk_through import walk_through

START, END = "<!-- walk -->\n", "<!-- /walk -->\n"


def main() -> None:
    """Write the files."""
    for name, made in (("neck.svg", limb_picture()), ("ladder.svg", ladder_picture())):
        (FOLDER / "demo" / name).write_text(made, encoding="utf-8")
        print(f"data/demo/{name}: {len(made)} bytes")
    readme = ROOT / "README.md"
    text = readme.read_text(encoding="utf-8")
    before, rest = text.split(START, 1)
    _, after = rest.split(END, 1)
    readme.write_text(f"{before}{START}{walk_through()}{END}{after}", encoding="utf-8")
    print("README.md: the walk through the demo")


if __name__ == "__main__":
    main()
