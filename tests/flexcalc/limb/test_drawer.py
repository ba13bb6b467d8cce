"""The wires in the maker's drawer: kept, taken out, and refused where they are none."""

from __future__ import annotations

from pathlib import Path

import pytest

from flexcalc.limb.drawer import DrawerWire, drawer_wires, put_in_drawer, take_from_drawer

COPPER = DrawerWire(metal="annealed copper", size="AWG 12")


def test_a_wire_is_kept_and_taken_out(own_folder: Path) -> None:
    assert drawer_wires() == ()
    put_in_drawer(COPPER)
    put_in_drawer(DrawerWire(metal="annealed low-carbon steel", size="2,5"))
    assert [wire.name for wire in drawer_wires()] == [
        "annealed copper, AWG 12",
        "annealed low-carbon steel, 2,5",
    ]
    # AWG 12 is 0.0808 in (ASTM B258, from memory)
    assert drawer_wires()[0].diameter == pytest.approx(0.0808 * 0.0254, rel=1e-3)
    take_from_drawer(COPPER)
    assert len(drawer_wires()) == 1
    with pytest.raises(ValueError, match="that of an entry"):
        take_from_drawer(COPPER)


@pytest.mark.parametrize(
    ("metal", "size"), [("", "2"), ("copper", "thick"), ("copper", "12 gauge")]
)
def test_what_is_no_wire_is_refused(metal: str, size: str) -> None:
    with pytest.raises(ValueError, match="must be"):
        DrawerWire(metal=metal, size=size)
