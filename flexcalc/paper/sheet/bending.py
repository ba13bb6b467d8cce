"""How a limb is bent: the bends in their order, how to press, and the card to bend it on."""

from __future__ import annotations

from data.sheet import Alert, Block, Drawing, Grid, Listing, Words
from flexcalc.build.corner import corner_piece
from flexcalc.figure.figure import Place
from flexcalc.joints.aims import leaves_plane
from flexcalc.limb.inputs import Bend, in_the_hand
from flexcalc.paper.pictures.bending_card import bending_card
from flexcalc.paper.sheet.advice import bend_words
from flexcalc.paper.sheet.shopping import paper_length
from flexcalc.section.section import limb_section
from flexcalc.verdict.overbend import over_bends_of, over_bent
from flexcalc.verdict.plan import LimbPlan
from flexcalc.verdict.verdict import Verdict


def bending(plan: LimbPlan, verdict: Verdict) -> tuple[Block, ...]:
    """Return the bends of a limb, how it is bent, and its card."""
    if not any(bend.angle for bend in plan.setting.bends):
        return (Words(text="It has no bend."),)
    rows: list[tuple[str, ...]] = []
    corners: list[Block] = []
    overs = over_bends_of(plan) if plan.limb.wire else ()
    for number, bend in enumerate(plan.setting.bends, start=1):
        over = overs[number - 1] if overs else None
        made = over_bent(bend, over) if over and bend.over_bend == 1 else in_the_hand(bend)
        starts = paper_length(bend.start) if bend.start else "at the clamp"
        note = over.text if over else "stays only with a wire"
        rows.append((str(number), starts, bend_words(bend), bend_words(made), note))
        if plan.limb.wire and bend.angle and bend.radius < verdict.kink.radius:
            corners += _corner(plan, bend, number)
    head = ("bend", "starts", "wanted", "bend it to", "note")
    blocks: list[Block] = [
        Grid(caption="Bend in this order, from the clamp on", head=head, rows=tuple(rows)),
        Listing(items=_how(plan, verdict), ordered=True),
        *corners,
    ]
    return (*blocks, card(plan, verdict))


def card(plan: LimbPlan, verdict: Verdict, *, mirrored: bool = False) -> Drawing:
    """Return the card to bend a limb on, or its mirror image for the twin."""
    made = bending_card(plan, verdict.made, mirrored=mirrored)
    return Drawing(svg=made.svg, words="the limb as bent in the hand, at 1:1, on the printed sheet")


def twin_card(plan: LimbPlan, verdict: Verdict, place: Place) -> tuple[Block, ...]:
    """Return the mirror image of the card for the limb's twin, nothing where it has none."""
    if not place.twin or not any(bend.angle for bend in plan.setting.bends):
        return ()
    words = "The twin is bent as the first one, on this mirror image of its card."
    return Words(text=words), card(plan, verdict, mirrored=True)


def _how(plan: LimbPlan, verdict: Verdict) -> tuple[str, ...]:
    setting = plan.setting
    turned = (
        (
            "Its bends lie in several planes and the card in one: for each bend turn the limb "
            "about its own axis as the card shows, and lay only that bend's stretch on it.",
        )
        if leaves_plane(plan.limb, setting)
        else ()
    )
    hold = f"Hold the whole pose for {setting.hold_time:g} s, then let go slowly."
    again = (
        f"Do it {setting.presses} times, {setting.press_pause:g} s apart."
        if setting.presses > 1
        else "Once is enough; every bend back and forth wears the wire."
    )
    if setting.bent_by == "former":
        half = limb_section(plan.limb).extreme_fibre
        sizes = sorted({round(2e3 * (bend.radius - half)) for bend in verdict.made.bends})
        across = " and ".join(f"{size} mm" for size in sizes if size > 0)
        first = f"Lay the limb round a former of {across} across, as far as the card says."
        return (*turned, first, hold, again)
    places = "one place" if setting.places == 1 else f"{setting.places} places"
    first = (
        f"Lay the limb on the card. Press with the thumb at {places} of each bend, on its inside, "
        f"with fingers {setting.lever * 1e3:.0f} mm away on both sides, until it covers the card."
    )
    return (*turned, first, hold, again)


def _corner(plan: LimbPlan, bend: Bend, number: int) -> list[Block]:
    try:
        piece = corner_piece(plan.limb, bend, payload=plan.setting.payload, printer=plan.printer)
    except ValueError as error:
        return [Alert(text=f"Bend {number} is too tight, and no corner piece fits: {error}.")]
    return [Words(text=f"Corner piece for bend {number}:"), Listing(items=piece.reasons)]
