"""The log under any changes in any order, and opened from a file with any damage."""

from __future__ import annotations

import dataclasses
import tempfile
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.doors import judge, quiet
from tests.strategies import mutated
from tests.tinting.strategies import records
from tinting.log import swatches as log
from tinting.log.maintenance import merge_swatches, open_log
from tinting.log.record import SwatchRecord, new_id

CHANGES = st.lists(
    st.tuples(st.sampled_from(["add", "edit", "remove", "copy", "undo", "redo"]), records()),
    max_size=8,
)


@quiet(40)
@given(CHANGES)
def test_changes_of_the_log_in_any_order_can_be_undone(
    changes: list[tuple[str, SwatchRecord]],
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.sqlite3"
        states: list[dict[str, SwatchRecord]] = [{}]
        place = 0
        for kind, record in changes:
            rows = dict(states[place])
            if kind in ("undo", "redo"):
                step = log.undo(path=path) if kind == "undo" else log.redo(path=path)
                to = place - 1 if kind == "undo" else place + 1
                assert step.done == (0 <= to < len(states))
                place = to if step.done else place
            else:
                changed(kind, rows, record, path)
                if rows != states[place]:
                    states, place = [*states[: place + 1], rows], place + 1
            kept = log.list_swatches(path=path).records
            assert {row.id: row for row in kept} == states[place]


def changed(kind: str, rows: dict[str, SwatchRecord], record: SwatchRecord, path: Path) -> None:
    """Change the log and, likewise, ``rows``; one that is not there is refused."""
    there = next(iter(rows), record.id)
    known = there in rows
    if kind == "add" and record.id not in rows:
        rows[record.id] = log.add_swatch(record, path=path)
    elif not known:
        with pytest.raises(ValueError, match="swatch id must be that of a row in the log"):
            if kind == "edit":
                log.edit_swatch(record, path=path)
            else:
                log.remove_swatch(there, path=path)
    elif kind == "edit":
        rows[there] = log.edit_swatch(dataclasses.replace(record, id=there), path=path)
    elif kind == "remove":
        assert log.remove_swatch(there, path=path) == rows.pop(there)
    else:
        copy = log.copy_swatch(there, path=path)
        rows[copy.id] = copy


def test_a_damaged_log_is_set_aside_and_the_next_row_is_kept(tmp_path: Path) -> None:
    row = SwatchRecord(base_name="b", base_lab=(88, 0, 6), lab=(60, 0, 20), shares={}, coats=0)
    place = tmp_path / "log.sqlite3"
    for _ in range(3):
        kept = log.add_swatch(dataclasses.replace(row, id=new_id()), path=place)
        log.copy_swatch(kept.id, path=place)
    whole = place.read_bytes()

    @quiet(60)
    @given(mutated(st.just(whole)))
    def every(content: bytes) -> None:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "log.sqlite3"
            path.write_bytes(content)
            found = judge(open_log, path=path)
            if isinstance(found, Exception):
                return
            if found.set_aside:
                assert path.with_name(found.set_aside).read_bytes() == content
                judge(merge_swatches, records=found.saved, path=path)
            log.add_swatch(row, path=path)
            assert row in log.list_swatches(path=path).records

    every()
