"""Several poses of a limb as small pictures: added from the board, ordered, with verdicts."""

from __future__ import annotations

import math

import streamlit as st

from data.page.fields import PageFields
from data.page.show import plain_text, show_table
from data.page.units import words
from flexcalc.forms.limb_form import STRAIGHT, THEN
from flexcalc.limb.inputs import Bend
from flexcalc.pages.limb.headline import SIGNS
from flexcalc.paper.answers import poses_of
from flexcalc.paper.pictures.board import silhouette
from flexcalc.verdict.plan import MOST_POSES, LimbPlan
from flexcalc.verdict.poses import PosesVerdict

WIDTH = 150
HIGH = 96


def show_poses(fields: PageFields, plan: LimbPlan) -> None:
    """Show the poses that a limb takes one after the other, and let them be added and ordered."""
    st.text_input("Name of this pose", value=f"pose {len(plan.poses) + 1}", key="limb_pose_name")
    st.button(
        "Add the pose on the board",
        key="limb_pose_add",
        on_click=_add,
        args=(fields, plan),
        disabled=len(plan.poses) >= MOST_POSES,
    )
    with st.spinner("Taking every pose …"):
        try:
            found = poses_of(plan)
        except (ValueError, RuntimeError) as error:
            st.error(plain_text(words(f"These poses could not be worked out: {error}")))
            found = None
    if found is not None:
        said = f"{SIGNS[found.state]} {found.sentence} {found.probability:.0%} likely to hold."
        st.markdown(plain_text(words(said)))
    with st.container(horizontal=True, horizontal_alignment="left", gap="small"):
        for number, pose in enumerate(plan.poses):
            with st.container(width=WIDTH, gap="small"):
                picture = silhouette(plan.limb, pose.setting)
                st.markdown(f'<div style="height:{HIGH}px">{picture}</div>', unsafe_allow_html=True)
                likely = ""
                if found is not None:
                    verdict = found.verdicts[number]
                    likely = f" {SIGNS[verdict.state]} {verdict.likely.probability:.0%}"
                st.markdown(plain_text(f"{number + 1}. {pose.name}{likely}"))
                _order(fields, plan, number)
    if found is not None:
        _show_matrix(found)


def _show_matrix(found: PosesVerdict) -> None:
    """Show every check of every pose, a column a pose."""
    columns = [{check.key: check for check in checks} for _, checks in found.matrix]
    questions = {check.key: check.question for _, checks in found.matrix for check in checks}
    rows = []
    for key, question in questions.items():
        checks = [column.get(key) for column in columns]
        cells = ["" if each is None else f"{SIGNS[each.state]} {each.answer}" for each in checks]
        rows.append((question, *cells))
    names = [name for name, _ in found.matrix]
    show_table(("question", *names), rows, "Every check in every pose")


def _order(fields: PageFields, plan: LimbPlan, number: int) -> None:
    """Offer to move a pose forward and to take it out."""
    others = [k for k in range(len(plan.poses)) if k != number]
    moved = [*others[: max(number - 1, 0)], number, *others[max(number - 1, 0) :]]
    name = plan.poses[number].name
    st.button(
        "Earlier",
        key=f"limb_pose_up{number}",
        help=plain_text(f"Take {name} before the one before it"),
        on_click=_put,
        args=(fields, plan, moved),
        disabled=number == 0,
    )
    st.button(
        "Take out",
        key=f"limb_pose_out{number}",
        help=plain_text(f"Take {name} out"),
        on_click=_put,
        args=(fields, plan, others),
    )


def _add(fields: PageFields, plan: LimbPlan) -> None:
    name = str(st.session_state.get("limb_pose_name", "")).strip() or f"pose {len(plan.poses) + 1}"
    for sign in (":", ";", THEN):
        name = name.replace(sign, " ")
    named = [(pose.name, pose.setting.bends) for pose in plan.poses]
    text = poses_text([*named, (name, plan.setting.bends)])
    fields.put({"poses": text, "poses_time": _times(fields, [*range(len(named))], added=True)})


def _put(fields: PageFields, plan: LimbPlan, order: list[int]) -> None:
    kept = [plan.poses[number] for number in order]
    text = poses_text([(pose.name, pose.setting.bends) for pose in kept])
    fields.put({"poses": text, "poses_time": _times(fields, order, added=False)})


def _times(fields: PageFields, order: list[int], *, added: bool) -> str:
    """Return the times typed for the poses in their new order; one for all stays as it is."""
    times = [time for time in fields.form()["poses_time"].split(";") if time.strip()]
    if len(times) < 2:
        return fields.form()["poses_time"]
    kept = [times[number].strip() for number in order]
    return "; ".join([*kept, *(kept[-1:] if added else ())])


def poses_text(poses: list[tuple[str, tuple[Bend, ...]]]) -> str:
    """Return the text that asks for poses, each a name and its bends."""
    return f" {THEN} ".join(
        f"{name}: {'; '.join(map(_bend_text, bends)) or STRAIGHT}" for name, bends in poses
    )


def _bend_text(bend: Bend) -> str:
    parts = [bend.start * 1e3, math.degrees(bend.angle), bend.radius * 1e3]
    parts += [math.degrees(bend.swing)] if bend.swing else []
    return " ".join(f"{part:.6g}" for part in parts)
