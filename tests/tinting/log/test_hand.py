"""The maker's hand kept in the user folder."""

from __future__ import annotations

from pathlib import Path

import pytest

from data.rules import Refused
from tinting.log.hand import keep_hand, kept_hand
from tinting.skin.inputs import Hand


def test_a_hand_is_kept_for_what_it_was_measured_against(tmp_path: Path) -> None:
    path = tmp_path / "materials.sqlite3"
    assert kept_hand(path=path) is None
    keep_hand(Hand(factor=1.21, spread=0.08), path=path)
    keep_hand(Hand(factor=0.97, spread=0.05), "log", path=path)
    assert kept_hand(path=path) == Hand(factor=1.21, spread=0.08)
    assert kept_hand("log", path=path) == Hand(factor=0.97, spread=0.05)
    keep_hand(Hand(factor=1.1, spread=0.07), path=path)
    assert kept_hand("estimates", path=path) == Hand(factor=1.1, spread=0.07)


@pytest.mark.parametrize("factor", [0.1, 9.0, float("nan"), "1", None])
def test_a_hand_that_is_none_is_refused(factor: object, tmp_path: Path) -> None:
    with pytest.raises(Refused, match=r"^hand factor must be"):
        Hand(factor=factor)  # type: ignore[arg-type]
    with pytest.raises(Refused, match=r"^hand must be"):
        keep_hand(factor, path=tmp_path / "a")  # type: ignore[arg-type]
    with pytest.raises(Refused, match=r"^known by must be"):
        kept_hand("nobody", path=tmp_path / "a")
