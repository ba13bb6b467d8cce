"""The first page of the build sheet: the figure, what to buy, what to print, in which order."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from data.sheet import Alert, Beside, Block, Drawing, Grid, Listing, Part, Words
from flexcalc.build.channel import size_channel
from flexcalc.figure.figure import Figure, FigureLimb
from flexcalc.figure.standing import standing
from flexcalc.figure.totals import filament_mass
from flexcalc.paper.answers import verdict_on, windows_for
from flexcalc.paper.pictures.whole import figure_view, legs_of, limb_line
from flexcalc.paper.sheet.advice import STATES
from flexcalc.paper.sheet.shopping import paper_length, shopping
from flexcalc.paper.sheet.tints import TintSheet

TOOLS = "flat pliers, cutter, file, a pin to bend ends round, talc, eye protection"
NOT_A_TOY = "Not a toy; keep cut wire, magnets and alcohol from children."


def front_parts(figure: Figure, design: Mapping[str, Any], sheet: TintSheet) -> tuple[Part, ...]:
    """Return the first page: note, picture, what to get, what to print, the order of work.

    Raises
    ------
    ValueError
        For a limb or tint that is refused.
    """
    parts = []
    if design["note"]:
        parts.append(Part(title="Note", blocks=(Words(text=design["note"]),)))
    bought = shopping(figure, design, sheet)
    if bought.rows:
        parts.append(Part(title="What to get", blocks=(bought, Words(text=f"Tools: {TOOLS}."))))
    if figure.limbs:
        parts.append(Part(title="What to print", blocks=(_prints(figure), _strips(figure))))
        drawn, said = _whole(figure)
        work = (*said, *_order(bool(design["tint"])))
        both = Beside(groups=((drawn,), work))
        parts.append(Part(title="The figure, and in which order it is made", blocks=(both,)))
    return tuple(parts)


def _prints(figure: Figure) -> Grid:
    rows = []
    for one in figure.limbs:
        verdict = verdict_on(one.plan)
        count = "2, the second mirrored" if one.place.twin else "1"
        rows.append(
            (
                one.plan.name,
                count,
                f"{one.plan.limb.elastomer.name}, {filament_mass(one) * 1e3:.0f} g each",
                f"{paper_length(one.plan.limb.length)}, printed {one.plan.orientation}",
                f"{STATES[verdict.state]}, {verdict.likely.probability:.0%} "
                f"({one.plan.wish.probability:.0%} wanted)",
                _stranger(one),
            )
        )
    head = ("limb", "how many", "filament", "length and print", "will it do", "for a stranger")
    return Grid(caption="Limbs", head=head, rows=tuple(rows))


def _stranger(one: FigureLimb) -> str:
    """Return the chance of a stranger with another spool and wire, without and with the tests."""
    if one.plan.limb.wire is None or not one.plan.setting.bends:
        return "no test tells"
    found = windows_for(one.plan)
    return f"{found.without:.0%} without tests, {found.with_tests:.0%} with"


def _strips(figure: Figure) -> Grid:
    """Return the test pieces, each once however many limbs want it."""
    rows: dict[tuple[str, str], list[str]] = {}
    for one in figure.limbs:
        for piece in _pieces(one):
            rows.setdefault(piece, []).append(one.plan.name)
    return Grid(
        caption="Test pieces, printed first",
        head=("piece", "which", "for"),
        rows=tuple((*piece, ", ".join(names)) for piece, names in rows.items()),
    )


def _pieces(one: FigureLimb) -> list[tuple[str, str]]:
    plan, wire = one.plan, one.plan.limb.wire
    found = [("droop strip", f"{plan.limb.elastomer.name}, flat")]
    if wire is not None and not plan.limb.wire_runs_in_bore:
        size = size_channel(wire.bundle_diameter, plan.orientation, printer=plan.printer)
        drawn = size.draw_diameter * 1e3
        found.append(
            (
                "strip of channels",
                f"seven from {drawn - 0.3:.2f} to {drawn + 0.3:.2f} mm, {plan.orientation}",
            )
        )
    return found


def _whole(figure: Figure) -> tuple[Drawing, list[Block]]:
    """Return the picture of the figure, and what is to be said of its standing."""
    lines = [limb_line(one) for one in figure.limbs]
    found = standing(figure, lines)
    drawn = Drawing(svg=figure_view(figure, lines, found), words="the figure from side and front")
    said: list[Block] = []
    if found.state:
        kind = Words if found.state == "holds" else Alert
        said.append(kind(text=found.sentence))
    bear = legs_of(figure)
    if bear.state:
        kind = Words if bear.state == "holds" else Alert
        said.append(kind(text=bear.sentence))
    told = (*found.cautions, *bear.cautions)
    return drawn, said + [Alert(text=caution.text) for caution in told]


def _order(tinted: bool) -> tuple[Block, ...]:
    steps = [
        "Print the test pieces with the filament and settings of the limbs; measure them and the "
        "wire. Go on if they lie in the windows on the limbs' pages.",
        "Print the limbs.",
        *(["Tint them and let them dry, before the wire goes in."] if tinted else []),
        "Cut the wires, put them in, bend their ends over.",
        "Bend each limb on its card; look at it again after a day.",
    ]
    return (Listing(items=tuple(steps), ordered=True), Words(text=NOT_A_TOY))
