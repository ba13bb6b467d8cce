"""The board: the limb to pose by handles; a handle that was moved types into the fields."""

from __future__ import annotations

import html
import math
from collections.abc import Mapping
from dataclasses import replace

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from data.inches import INCH, OUNCE
from data.page.fields import PageFields
from data.page.pointing import Handle, Label, Line, Moved, Pointed, Removed, Tapped, show_picture
from data.page.units import inches, words
from flexcalc.forms.limb_form import BEND_KEYS, BEND_ROWS
from flexcalc.limb.inputs import Bend
from flexcalc.pages.limb.ask import is_typed
from flexcalc.paper.board import (
    Board,
    bar_length,
    board_drawing,
    likely_drawing,
    limb_thickness,
    set_line,
)
from flexcalc.paper.drawing import inserted_line
from flexcalc.pose.pose import Pose, peaks_in_hand
from flexcalc.verdict.plan import LimbPlan
from flexcalc.verdict.verdict import Verdict

KEY = "limb_board"
HEIGHT = "var(--board-height, 40vh)"
NEW_ANGLE, NEW_RADIUS, LEAST_STRAIGHT = 40.0, 40.0, 6.0
"""A bend that is put in: its angle [degrees] and radius, and the limb it needs at least. [mm]"""
WORDS = {"as set": "in the hand", "at rest": "at rest"}
STYLE = """<style>
.st-key-limb_stage { display: grid !important; grid-template-columns: 100%; }
.st-key-limb_stage > div { grid-area: 1 / 1; width: 100% !important; }
.st-key-limb_stage > .stElementContainer:not(:has(.likely)) { z-index: 1; }
.likely { margin: 0 auto; transition: opacity .1s; }
.likely svg { display: block; width: 100%; height: 100%; }
[data-waits] .likely, [data-waits] .chance { opacity: .3; }
</style>"""


def show_board(fields: PageFields, plan: LimbPlan, pose: Pose | None, said: str) -> Board:
    """Show the limb to pose; moving a handle types into the fields, and can be undone."""
    board = board_drawing(
        plan.limb,
        plan.setting,
        pose,
        name=plan.name,
        summary=said,
        kinked=_kinked(plan),
        before=st.session_state.get("limb_view"),
    )
    st.session_state["limb_view"] = board.view
    show_picture(
        KEY,
        words(board.svg),
        board.width,
        board.height,
        name=said,
        on_pointed=lambda done: _point(fields, done),
        handles=[_spoken(handle) for handle in _handles(fields, plan)],
        line=_line(plan, board),
        labels=_labels(plan, board),
        most_height=HEIGHT,
        waits_in="limb_answer",
    )
    return board


def show_likely(place: DeltaGenerator, board: Board, plan: LimbPlan, verdict: Verdict) -> None:
    """Lay the likely outcomes, and the line to bend to, on the board."""
    made = verdict.made
    over = set_line(plan.limb, made, made.bends) if made.bends != plan.setting.bends else None
    svg = likely_drawing(board.view, [line.positions for line in verdict.likely.fan], over)
    ratio = board.width / board.height
    place.markdown(
        f'<div class="likely" style="aspect-ratio:{ratio:.4f};'
        f'max-width:min(100%,calc({HEIGHT} * {ratio:.4f}))">{svg}</div>',
        unsafe_allow_html=True,
    )


def show_legend(plan: LimbPlan, verdict: Verdict | None) -> None:
    """Say what the lines and signs on the board are, those that are there."""
    signs = [("6 4", "in the hand"), ("1.5 4", "let go"), ("", "at rest")]
    if verdict is not None and verdict.made.bends != plan.setting.bends:
        signs.append(("10 4 2 4", "bend it to here"))
    if inserted_line(plan.limb, plan.setting) is not None:
        signs.append(("12 3 2 3 2 3", "printed curved, with its straight wire"))
    lines = "".join(
        f'<span style="white-space:nowrap"><svg aria-hidden="true" width="30" height="8"><path '
        f'd="M0 4H30" stroke="currentColor" stroke-width="2" stroke-dasharray="{dash}"/></svg> '
        f"{word}</span> "
        for dash, word in signs
    )
    words = [
        "faint: likely too",
        *(["▲ press"] if plan.setting.bent_by == "hands" and plan.setting.bends else []),
        *(["zigzag: kinks"] if _kinked(plan) else []),
        *(["hatched: corner piece"] if any(bend.rigid for bend in plan.setting.bends) else []),
    ]
    st.markdown(
        f'<div class="legend"><small>{lines}{html.escape(" · ".join(words))}</small></div>',
        unsafe_allow_html=True,
    )


def _kinked(plan: LimbPlan) -> tuple[int, ...]:
    from flexcalc.build.kink import kink_radius_of

    kink = kink_radius_of(plan.limb, printer=plan.printer)
    try:
        peaks = peaks_in_hand(plan.limb, plan.setting)
    except ValueError:  # the verdict says what is wrong
        return ()
    return tuple(
        index
        for index, bend in enumerate(plan.setting.bends)
        if bend.angle and not bend.rigid and peaks[index] * kink.radius > 1
    )


def _line(plan: LimbPlan, board: Board) -> Line:
    return Line(
        x=board.clamp[0],
        y=board.clamp[1],
        per=1.0,
        direction=math.degrees(plan.setting.clamp_angle),
        length=plan.limb.length * 1e3,
        thickness=limb_thickness(plan.limb) * 1e3,
        payload=plan.setting.payload * 1e3,
        bends=tuple(_as_typed(bend) for bend in plan.setting.bends),
    )


def _as_typed(bend: Bend) -> tuple[float, float, float]:
    return (bend.start * 1e3, math.degrees(bend.angle), bend.radius * 1e3)


def rows_in_order(form: Mapping[str, str], plan: LimbPlan) -> list[int]:
    """Return the rows of the fields that the bends of a plan stand in, from the clamp on."""
    from flexcalc.forms.limb_form import length_or_zero

    typed = [row for row in range(1, BEND_ROWS + 1) if is_typed(dict(form), row)]
    return sorted(typed, key=lambda row: length_or_zero(form[f"start{row}"], "bend start"))


def _handles(fields: PageFields, plan: LimbPlan) -> list[Handle]:
    """Return the handles of the clamp, the weight and every bend, each with its bounds."""
    setting, length = plan.setting, plan.limb.length * 1e3
    inch = inches()
    direction, load = math.degrees(setting.clamp_angle), setting.payload * 1e3
    handles = [
        Handle(key="direction", name="Turn the clamp; 0 hangs, 90 is level", sign="⟳",
               value=direction, low=-180.0, high=180.0, unit="°", of=("direction", 0)),
        Handle(key="payload", name="Hang a weight on the tip", sign="g", shape="drop", value=load,
               low=0.0, high=max(200.0, math.ceil(2 * load / 50) * 50), unit="g",
               of=("payload", 0)),
    ]  # fmt: skip
    bends = [_as_typed(bend) for bend in setting.bends]
    try:
        rows = rows_in_order(fields.form(), plan)
    except ValueError:
        return handles
    if len(rows) != len(bends):
        return handles
    step = INCH / 16 if inch else 1.0
    for index, (row, (start, angle, radius)) in enumerate(zip(rows, bends, strict=True)):
        low = bends[index - 1][0] + _arc(bends[index - 1]) if index else 0.0
        high = bends[index + 1][0] if index + 1 < len(bends) else length
        most = math.degrees((high - start) / radius)
        widest = (high - start) / max(math.radians(abs(angle)), 1e-3)
        last = max(high - _arc(bends[index]), start)
        handles += [
            Handle(key=f"start{row}", name=f"Move bend {row} along the limb", sign=f"{row}",
                   shape="square", value=start, low=min(low, start), high=last, step=step,
                   unit="mm", of=("start", index), removes=True),
            Handle(key=f"angle{row}", name=f"Turn bend {row}", sign="∠",
                   value=angle, low=min(-min(most, 350.0), angle),
                   high=max(min(most, 350.0), angle), unit="°", of=("angle", index),
                   removes=True),
            Handle(key=f"radius{row}", name=f"Open or close bend {row}", sign="R", shape="lozenge",
                   value=radius, low=min(5.0, radius), high=max(min(widest, 500.0), radius),
                   step=step, unit="mm", of=("radius", index), removes=True),
        ]  # fmt: skip
    return handles


def _spoken(handle: Handle) -> Handle:
    """Return a handle whose value is spoken in the units that were chosen."""
    units = {"mm": (INCH, "in"), "g": (OUNCE, "oz")}
    if not inches() or handle.unit not in units:
        return handle
    per, unit = units[handle.unit]
    return replace(handle, per=per, unit=unit)


def _arc(bend: tuple[float, float, float]) -> float:
    return math.radians(abs(bend[1])) * bend[2]


def _labels(plan: LimbPlan, board: Board) -> list[Label]:
    places = dict(board.places)
    labels = [
        Label(x=x, y=y, text=WORDS[kind], dot=False)
        for kind, (x, y) in places.items()
        if kind in WORDS
    ]
    length = bar_length(board.view)
    said = words(f"{length:g} mm")
    x, y = places["scale"]
    return [*labels, Label(x=x, y=y, text=said, dot=False)]


def _point(fields: PageFields, done: Pointed) -> None:
    """Type what was done on the board into the fields."""
    if isinstance(done, Moved):
        fields.put({done.key: typed_value(done.key, done.value)})
    elif isinstance(done, Removed):
        remove_bend(fields, int(done.key[-1]))
    elif isinstance(done, Tapped) and done.along is not None:
        add_bend(fields, done.along)


def typed_value(key: str, value: float) -> str:
    """Return the text that is typed into a field for a value of a handle [°, g or mm]."""
    length = key.startswith(("start", "radius"))
    if not length:
        return f"{round(value):g}"
    return f"{value / INCH:.3g} in" if inches() else f"{round(value, 1):g}"


def remove_bend(fields: PageFields, row: int) -> None:
    """Empty the fields of a bend."""
    fields.put({f"{key}{row}": "" for key in BEND_KEYS})


def add_bend(fields: PageFields, along: float | None = None) -> None:
    """Type a bend into the first free row: about a place ``along`` the limb [mm], else where the
    longest straight stretch is. Nothing where no row or no stretch is free."""
    from flexcalc.pages.limb.ask import typed_plan

    form, plan = fields.form(), typed_plan()
    free = [row for row in range(1, BEND_ROWS + 1) if not is_typed(form, row)]
    if plan is None or not free:
        return
    ends = [0.0]
    for bend in plan.setting.bends:
        ends += [bend.start * 1e3, bend.end * 1e3]
    ends.append(plan.limb.length * 1e3)
    gaps = list(zip(ends[::2], ends[1::2], strict=True))
    if along is not None:
        gaps = [gap for gap in gaps if gap[0] <= along <= gap[1]]
    if not gaps:
        return
    low, high = max(gaps, key=lambda gap: gap[1] - gap[0])
    if high - low < LEAST_STRAIGHT:
        return
    arc = min(math.radians(NEW_ANGLE) * NEW_RADIUS, 0.6 * (high - low))
    middle = (low + high) / 2 if along is None else along
    start = math.ceil(min(max(middle - arc / 2, low), high - arc))
    fields.put(
        {
            f"start{free[0]}": typed_value("start", start),
            f"angle{free[0]}": f"{math.floor(math.degrees(arc / NEW_RADIUS)):g}",
            f"radius{free[0]}": typed_value("radius", NEW_RADIUS),
        }
    )
