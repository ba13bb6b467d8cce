"""A design taken into the maker's folder as a figure, with its logbook beside it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from data.rules import check_kind
from data.store.design import empty_design
from data.store.figures import (
    add_event,
    change_figure,
    list_figures,
    new_key,
    read_events,
    read_figure,
)
from data.store.folder import Place
from flexcalc.figure.changes import with_distinct_names
from flexcalc.figure.figure import body_from, place_from
from flexcalc.figure.logbook import event_from, plain_event


def take_design(design: Mapping[str, Any], *, place: Place = None) -> str:
    """Keep a design as a figure and return its key; one that is there already is not kept twice.

    ``design`` as `data.store.design.read_design` returns it; two limbs of one name get a number.

    Raises
    ------
    ValueError
        For a place, a body or an event that is refused.
    StoreError
        For a folder that cannot be written.
    """
    check_kind("design", design, Mapping, "a mapping of parts")
    whole = {**empty_design("design"), **design}
    for where in whole["places"]:
        place_from(where)
    if whole["body"]:
        body_from(whole["body"])
    events = [plain_event(event_from(event)) for event in whole["logbook"]]
    made = {**with_distinct_names(whole), "logbook": []}
    for one in list_figures(place=place):
        if one.damage or read_figure(one.key, place=place) != made:
            continue
        if read_events(one.key, place=place) == (events, 0):
            return one.key
    key = new_key()
    change_figure(key, lambda _: made, place=place)
    for event in events:
        add_event(key, event, place=place)
    return key
