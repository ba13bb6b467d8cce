"""The board: the limb to pose by handles; a handle that was moved types into the fields."""

from __future__ import annotations

import html
import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import streamlit as st
from numpy.typing import NDArray
from streamlit.delta_generator import DeltaGenerator

from data.inches import INCH, OUNCE
from data.page.fields import PageFields
from data.page.pointing import (
    Handle,
    Joint,
    Label,
    Line,
    LineBend,
    Moved,
    Pointed,
    Removed,
    Tapped,
    show_picture,
)
from data.page.units import inches, mm_in_a_unit, words
from flexcalc.forms.limb_form import BEND_KEYS, BEND_ROWS
from flexcalc.joints.aims import leaves_plane
from flexcalc.joints.limbs import limb_width
from flexcalc.joints.stretches import bent_stretches
from flexcalc.limb.inputs import Bend
from flexcalc.pages.limb.ask import is_typed
from flexcalc.pages.limb.headline import quick_words
from flexcalc.paper.answers import line_to_bend_to
from flexcalc.paper.pictures.board import (
    Board,
    View,
    bar_length,
    board_drawing,
    likely_drawing,
    limb_thickness,
)
from flexcalc.paper.pictures.drawing import inserted_line
from flexcalc.paper.pictures.line_joints import joints_of, parted
from flexcalc.pose.pose import Pose, peaks_in_hand, shape_in_hand
from flexcalc.verdict.plan import LimbPlan
from flexcalc.verdict.verdict import Verdict

KEY = "limb_board"
HEIGHT = "var(--board-height, 40vh)"
NEW_ANGLE, NEW_RADIUS, LEAST_STRAIGHT = 40.0, 40.0, 6.0
"""A bend that is put in: its angle [degrees] and radius, and the limb it needs at least. [mm]"""
WORDS = {
    "as set": "in the hand",
    "at rest": "at rest",
    "side": "from the side",
    "above": "from above",
}
STYLE = """<style>
.st-key-limb_stage { display: grid !important; grid-template-columns: 100%; }
.st-key-limb_stage > div { grid-area: 1 / 1; width: 100% !important; }
.st-key-limb_stage > .stElementContainer:not(:has(.likely)) { z-index: 1; }
.likely { margin: 0 auto; transition: opacity .1s; }
.likely svg { display: block; width: 100%; height: 100%; }
[data-waits] .likely, [data-waits] .chance { opacity: .3; }
</style>"""


def drawn_board(plan: LimbPlan, pose: Pose | None, *, from_above: bool = False) -> Board:
    """Return the board of a limb, its views as they were where the limb still fits into them.

    A limb that leaves its plane is shown ``from_above`` whether or not that is wanted.
    """
    board = board_drawing(
        plan.limb,
        plan.setting,
        pose,
        name=plan.name,
        summary=quick_words(pose),
        kinked=kinked_bends(plan, pose),
        before=st.session_state.get("limb_view", ()),
        from_above=from_above or leaves_plane(plan.limb, plan.setting),
        per=mm_in_a_unit()[0],
    )
    st.session_state["limb_view"] = board.views
    return board


def show_board(
    fields: PageFields, form: Mapping[str, str], plan: LimbPlan, pose: Pose | None, board: Board
) -> None:
    """Show the limb to pose; moving a handle types into the fields, and can be undone.

    ``form`` is what the plan was made of.
    """
    show_picture(
        KEY,
        words(board.svg),
        board.width,
        board.height,
        name=quick_words(pose),
        on_pointed=lambda done: _point(fields, done),
        handles=[_spoken(handle) for handle in _handles(form, plan, len(board.views) > 1)],
        line=board_line(plan, pose, board.views),
        labels=_labels(board),
        most_height=_most_height(board),
        waits_in="limb_answer",
    )


def _most_height(board: Board) -> str:
    return HEIGHT if len(board.views) == 1 else f"calc({HEIGHT} * var(--two-views, 1.4))"


def show_likely(place: DeltaGenerator, board: Board, plan: LimbPlan, verdict: Verdict) -> None:
    """Lay the likely outcomes, and the line to bend to, on the board."""
    over = line_to_bend_to(plan, verdict)
    fan = [line.points for line in verdict.likely.fan]
    _lay_on(place, board, likely_drawing(board.views, fan, over), "likely")


def show_last_likely(
    place: DeltaGenerator, board: Board, fan: Sequence[NDArray[np.float64]]
) -> None:
    """Lay the likely outcomes (n, 3) [m] of the limb before on the board, greyed."""
    _lay_on(place, board, likely_drawing(board.views, fan, None), "likely old")


def _lay_on(place: DeltaGenerator, board: Board, svg: str, kind: str) -> None:
    ratio = board.width / board.height
    place.markdown(
        f'<div class="{kind}" style="aspect-ratio:{ratio:.4f};'
        f'max-width:min(100%,calc({_most_height(board)} * {ratio:.4f}))">{svg}</div>',
        unsafe_allow_html=True,
    )


def show_legend(plan: LimbPlan, verdict: Verdict) -> None:
    """Say what the lines and signs on the board are, those that are there."""
    pose = verdict.pose
    signs = [("6 4", "in the hand"), ("1.5 4", "let go"), ("", "at rest")]
    if verdict.made.bends != plan.setting.bends:
        signs.append(("10 4 2 4", "bend it to here"))
    if inserted_line(plan.limb, plan.setting) is not None:
        signs.append(("12 3 2 3 2 3", "printed curved, with its straight wire"))
    lines = "".join(
        f'<span style="white-space:nowrap;margin-right:.7rem"><svg aria-hidden="true" width="30" '
        f'height="8"><path '
        f'd="M0 4H30" stroke="currentColor" stroke-width="2" stroke-dasharray="{dash}"/></svg> '
        f"{word}</span> "
        for dash, word in signs
    )
    words = [
        "faint: likely too",
        *(["▲ press"] if plan.setting.bent_by == "hands" and plan.setting.bends else []),
        *(["zigzag: kinks"] if kinked_bends(plan, pose) else []),
        *(["hatched: corner piece"] if any(bend.rigid for bend in plan.setting.bends) else []),
    ]
    st.markdown(
        f'<div class="legend"><small>{lines}{html.escape(" · ".join(words))}</small></div>',
        unsafe_allow_html=True,
    )


def kinked_bends(plan: LimbPlan, pose: Pose | None) -> tuple[int, ...]:
    """Return the numbers of the bends, from 0, that kink in the hand."""
    from flexcalc.build.kink import kink_radius_of

    kink = kink_radius_of(plan.limb, printer=plan.printer)
    try:
        peaks = pose.peak_curvature if pose else peaks_in_hand(plan.limb, plan.setting)
    except ValueError:  # the verdict says what is wrong
        return ()
    return tuple(
        index
        for index, bend in enumerate(plan.setting.bends)
        if bend.angle and not bend.rigid and peaks[index] * kink.radius > 1
    )


def board_line(plan: LimbPlan, pose: Pose | None, views: Sequence[View]) -> Line:
    """Return the limb as it is set, for the script to draw while a handle moves."""
    limb, setting = plan.limb, plan.setting
    shape = pose.shape_set if pose else shape_in_hand(limb, setting)
    stretches = bent_stretches(setting, limb.length, limb_width(limb))
    curve, bends = parted(
        joints_of(shape, setting.clamp_angle), [(one.start, one.end) for one in stretches]
    )
    (x, y), *above = [view.place((0.0, 0.0, 0.0)).tolist() for view in views]
    return Line(
        x=x,
        y=y,
        above=(above[0][0], above[0][1]) if above else None,
        per=1.0,
        direction=math.degrees(setting.clamp_angle),
        length=limb.length * 1e3,
        thickness=limb_thickness(limb) * 1e3,
        width=limb_width(limb) * 1e3,
        payload=setting.payload * 1e3,
        curve=_typed_joints(curve) if np.any(curve[:, 1:]) else (),
        bends=tuple(
            LineBend(
                start=bend.start * 1e3,
                angle=math.degrees(bend.angle),
                radius=bend.radius * 1e3,
                swing=math.degrees(bend.swing),
                before=((bend.start + bend.end) / 2 - stretch.start) * 1e3,
                joints=_typed_joints(made),
            )
            for bend, stretch, made in zip(setting.bends, stretches, bends, strict=True)
        ),
    )


def _typed_joints(joints: NDArray[np.float64]) -> tuple[Joint, ...]:
    return tuple(
        (round(1e3 * long, 7), round(up, 10), round(left, 10)) for long, up, left in joints.tolist()
    )


def rows_in_order(form: Mapping[str, str]) -> list[int]:
    """Return the rows of a form that bends stand in, from the clamp on."""
    from flexcalc.forms.limb_form import length_or_zero

    typed = [row for row in range(1, BEND_ROWS + 1) if is_typed(dict(form), row)]
    return sorted(typed, key=lambda row: length_or_zero(form[f"start{row}"], "bend start"))


def _as_typed(bend: Bend) -> tuple[float, float, float]:
    return (bend.start * 1e3, math.degrees(bend.angle), bend.radius * 1e3)


def _handles(form: Mapping[str, str], plan: LimbPlan, above: bool) -> list[Handle]:
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
    rows = rows_in_order(form)
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
        if above:
            swing = math.degrees(setting.bends[index].swing)
            handles.append(
                Handle(key=f"swing{row}", name=f"Swing bend {row}; 0 is up, 90 to the left",
                       sign="↔", shape="lozenge", value=swing, low=min(-180.0, swing),
                       high=max(180.0, swing), unit="°", of=("swing", index), removes=True)
            )  # fmt: skip
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


def _labels(board: Board) -> list[Label]:
    places = dict(board.places)
    labels = [
        Label(x=x, y=y, text=WORDS[kind], dot=False)
        for kind, (x, y) in places.items()
        if kind in WORDS
    ]
    per, unit = mm_in_a_unit()
    said = f"{bar_length(board.views[0], per) / per:g} {unit}"
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
