"""The bench page, driven without a browser: readings, keeping, editing, exchange, downloads."""

from __future__ import annotations

import re
from pathlib import Path
from zipfile import ZipFile

import pytest
from streamlit.testing.v1 import AppTest

from data.store.entries import save_entry
from flexcalc.build.solids import droop_strip
from flexcalc.limb.materials import load_elastomer, load_metal
from flexcalc.limb.own_materials import own_elastomers, own_metals, own_printers, own_text
from flexcalc.pages.pieces import _made
from flexcalc.paper.pictures.set_ups import SET_UPS
from flexcalc.paper.pictures.svg import escaped
from tests.pages import opened_page, words_of

README = (Path(__file__).parents[3] / "README.md").read_text(encoding="utf-8")
pytestmark = pytest.mark.usefixtures("own_folder")


def bench_page() -> None:
    from flexcalc.pages.bench import show_bench_page

    show_bench_page()


def opened(**link: str) -> AppTest:
    return opened_page(bench_page, **link)


def errors(page: AppTest) -> list[str]:
    return [str(error.value) for error in page.error]


def test_the_page_opens_and_asks_for_readings() -> None:
    page = opened()
    said = words_of(page)
    for asked in ("Type the drop", "Type the angle it keeps", "Type the pins"):
        assert asked in said
    assert "keep them from children under 14" in said  # the magnet's caution
    assert not errors(page)


def test_a_droop_narrows_the_filament_and_the_limb_and_is_kept() -> None:
    page = opened(bench_droop_drop="30; 31")
    said = words_of(page)
    assert "What the bench taught" in said and "elastic modulus" in said
    assert "The limb typed on the page Limb" in said and "with the bench" in said
    key = "bench_keep_elastomer_elastomer_TPU 80A"
    assert page.text_input(key=key).value == "my TPU 80A"
    page.text_input(key=key).set_value("blue roll").run()
    page.button(key=f"{key}_button").click().run()
    assert not page.exception
    assert "Kept blue roll." in words_of(page)
    kept = own_elastomers()["blue roll"]
    assert kept.modulus_factor < 1.1
    # and it can be measured again, under its own name
    page.selectbox(key="bench_droop_filament").set_value("blue roll").run()
    again = "bench_keep_elastomer_elastomer_blue roll"
    assert page.text_input(key=again).value == "blue roll"


def test_nothing_is_replaced_unasked_and_a_result_goes_into_the_limb() -> None:
    page = opened(bench_droop_drop="30")
    key = "bench_keep_elastomer_elastomer_TPU 80A"
    page.button(key=f"{key}_use").click().run()
    assert page.session_state["limb_elastomer"] == "my TPU 80A"
    first = own_elastomers()["my TPU 80A"]
    page.text_input(key="bench_droop_drop").set_value("40").run()
    page.button(key=f"{key}_button").click().run()
    assert own_elastomers() == {"my TPU 80A": first}
    assert "is kept already, with other numbers" in words_of(page)
    page.button(key=f"{key}_taken_True").click().run()
    assert own_elastomers()["my TPU 80A"] == first
    second = own_elastomers()["my TPU 80A 2"]
    assert second.elastic_modulus < first.elastic_modulus
    page.button(key=f"{key}_button").click().run()
    page.button(key=f"{key}_taken_False").click().run()
    assert own_elastomers()["my TPU 80A"].elastic_modulus == second.elastic_modulus
    page.button(key=f"{key}_button").click().run()  # the same again is no question
    assert "is kept already" not in words_of(page)


def test_the_strip_of_the_readme_gives_what_it_says() -> None:
    """README's second step, typed as it is told: length, width, thickness, drop, reading time."""
    walk = README.split("## A walk through the demo")[1].replace("\n   ", " ")
    found = re.search(
        r"strip (\d+) × (\d+) mm .*? so that (\d+) mm of it stand out level \(\*Bench\*\), that "
        r"has dropped (\d+) mm after (\d+) s has E = (\d+) MPa. With that the same neck keeps "
        r"(\d+) % to (\d+) %, and the chance is (\d+) %",
        walk,
    )
    assert found is not None
    width, thickness, length, drop, after, *answers = found.groups()
    page = opened_page(
        bench_page, "bench_droop_", width=width, thickness=thickness, length=length, drop=drop,
        time=after,
    )  # fmt: skip
    said = words_of(page)
    modulus = re.search(r"elastic modulus: .*? before, ([\d.]+) MPa", said)
    row = re.search(r"with the bench.*?\((\d+)% to (\d+)%\).*?mm<.*?>(\d+)%<", said, re.S)
    assert modulus is not None and row is not None
    assert [f"{float(modulus[1]):.0f}", *row.groups()] == answers


def test_a_reading_is_told_to_go_or_not_for_the_limb_typed() -> None:
    page = opened(bench_droop_drop="60", bench_kink_held="20", bench_kink_kinked="18")
    assert "Go:" not in words_of(page)
    page.toggle(key="bench_windows").set_value(True).run()
    assert not page.exception
    said = words_of(page)
    assert said.count("Go: the reading lies in the window.") >= 2
    assert "Built as planned without a test it holds" in said
    page.text_input(key="bench_droop_drop").set_value("15").run()  # far too stiff a filament
    assert "No go: the reading lies outside. Take " in words_of(page)


def test_every_test_and_piece_has_its_picture() -> None:
    said = words_of(opened())
    for name in SET_UPS:
        assert escaped(SET_UPS[name][1]) in said


def test_a_tabled_name_is_not_taken() -> None:
    page = opened(bench_droop_drop="30")
    key = "bench_keep_elastomer_elastomer_TPU 80A"
    page.text_input(key=key).set_value("TPU 90A").run()
    page.button(key=f"{key}_button").click().run()
    assert any("other than a tabled one" in sentence for sentence in errors(page))
    assert own_elastomers() == {}


def test_a_wire_round_a_mandrel_is_kept_as_a_metal() -> None:
    page = opened(bench_bent_kept="344")
    assert "strength coefficient" in words_of(page)
    key = "bench_keep_metal_metal_annealed low-carbon steel"
    page.button(key=f"{key}_button").click().run()
    kept = own_metals()["my annealed low-carbon steel"]
    assert kept.strength_factor < load_metal("annealed low-carbon steel").strength_factor


def test_a_limb_bent_until_it_kinks_teaches_the_printer_and_is_kept() -> None:
    asked = words_of(opened())
    assert "Reckoned: it kinks below R" in asked
    page = opened(bench_kink_held="80", bench_kink_kinked="70")
    said = words_of(page)
    assert "kink radius over the reckoned one" in said
    assert "With this printer the limb kinks below R" in said
    key = "bench_keep_kink_printer_untested printer"
    page.text_input(key=key).set_value("my printer").run()
    page.button(key=f"{key}_button").click().run()
    assert not page.exception
    kept = own_printers()["my printer"]
    # the middle of the limb between both rods lies far outside what was reckoned
    assert kept.kink_factor > 1.1 and kept.kink_core == "lines"
    page = opened(bench_kink_held="20", bench_kink_kinked="30")
    assert "Thickest rod it kinks round: from 0 mm to 20 mm; got 30." in words_of(page)


def test_pins_are_kept_as_a_printer() -> None:
    page = opened(bench_pins_entered="2.6; 2.7; 2.8; 2.9; 3.0; 3.1; 3.2")
    assert "hole shrinkage lying" in words_of(page)
    assert "channel lying" in words_of(page)
    page.button(key="bench_keep_printer_printer_untested printer_button").click().run()
    assert own_printers()["my untested printer"].measured == ("lying",)


def test_a_limb_let_go_narrows_both_materials() -> None:
    page = opened(bench_pose_kept="82")
    said = words_of(page)
    assert "chain factor" in said and "strength coefficient" in said
    page.button(key="bench_keep_limb_elastomer_TPU 80A_button").click().run()
    known = own_elastomers()["my TPU 80A"].modulus_factor
    assert known < load_elastomer("TPU 80A").modulus_factor


def test_without_a_wire_there_is_no_limb_to_test() -> None:
    page = opened(limb_metal="no wire", bench_pose_kept="77")
    assert "Describe a limb with a wire" in words_of(page)


@pytest.mark.parametrize(
    ("key", "junk"),
    [
        ("droop_drop", "12 gauge"),
        ("droop_drop", "<script>"),
        ("droop_length", "1e999"),
        ("bent_kept", "361"),
        ("bent_kept", "359.99999"),
        ("pins_entered", "1; 2"),
        ("pose_kept", "\x00"),
        ("magnet_gap", "🐟" * 40),
        ("magnet_thickness", "5 m"),
        ("magnet_arm", "5 m"),
    ],
)
def test_what_cannot_be_read_is_refused_in_words_and_kept(key: str, junk: str) -> None:
    page = opened(**{f"bench_{key}": junk})
    assert any("; got " in sentence for sentence in errors(page))
    assert page.text_input(key=f"bench_{key}").value == junk


def test_typed_readings_can_be_undone() -> None:
    page = opened()
    page.text_input(key="bench_droop_drop").set_value("30").run()
    page.text_input(key="bench_droop_length").set_value("100").run()
    page.button(key="bench_undo_button").click().run()
    assert page.text_input(key="bench_droop_length").value == "120"
    assert page.text_input(key="bench_droop_drop").value == "30"
    page.button(key="bench_redo_button").click().run()
    assert page.text_input(key="bench_droop_length").value == "100"


def test_an_entry_is_typed_changed_removed_and_brought_back() -> None:
    page = opened()
    page.text_input(key="bench_elastomer_name").set_value("roll").run()
    page.text_input(key="bench_elastomer_stiffness").set_value("95A").run()
    page.button(key="bench_own_keep_elastomer").click().run()
    assert not page.exception and "Kept roll." in words_of(page)
    first = own_elastomers()["roll"]
    page.text_input(key="bench_elastomer_stiffness").set_value("").run()
    page.button(key="bench_own_edit_elastomer").click().run()
    assert page.text_input(key="bench_elastomer_stiffness").value.endswith(" MPa")
    page.text_input(key="bench_elastomer_factor").set_value("1.3").run()
    page.button(key="bench_own_keep_elastomer").click().run()
    assert own_elastomers()["roll"].modulus_factor == 1.3
    assert own_elastomers()["roll"].elastic_modulus == pytest.approx(first.elastic_modulus)
    page.button(key="bench_own_remove_elastomer").click().run()
    assert own_elastomers() == {}
    page.button(key="bench_own_undo_entries_elastomer").click().run()
    assert own_elastomers()["roll"].modulus_factor == 1.3
    page.button(key="bench_own_redo_entries_elastomer").click().run()
    assert own_elastomers() == {}
    assert not page.exception


@pytest.mark.parametrize(
    ("kind", "changes", "field"),
    [
        ("elastomer", {"elastomer_name": "x", "elastomer_stiffness": "hard"}, "Hardness"),
        ("metal", {"metal_name": "x", "metal_strength": "0"}, "Tensile"),
        ("printer", {"printer_name": " "}, "Name of the printer"),
    ],
)
def test_a_typed_entry_that_is_refused_is_not_kept(
    kind: str, changes: dict[str, str], field: str
) -> None:
    page = opened()
    for key, text in changes.items():
        page.text_input(key=f"bench_{key}").set_value(text)
    page.run()
    page.button(key=f"bench_own_keep_{kind}").click().run()
    assert not page.exception
    assert any("correct the field" in sentence for sentence in errors(page))
    assert any("; got " in sentence for sentence in errors(page))
    assert not own_elastomers() and not own_metals() and not own_printers()


def test_a_damaged_entry_is_shown_and_can_be_removed() -> None:
    save_entry("metal", "odd <b>one", {"kind": "Metal"})
    page = opened()
    assert any("cannot be used" in str(w.value) for w in page.warning)
    page.button(key="bench_own_remove_metal").click().run()
    assert not any("cannot be used" in str(w.value) for w in page.warning)


def test_a_file_of_materials_is_taken_in() -> None:
    page = opened()
    page.text_input(key="bench_printer_name").set_value("mine").run()
    page.button(key="bench_own_keep_printer").click().run()
    text = own_text()
    page.button(key="bench_own_remove_printer").click().run()
    assert own_printers() == {}
    page.file_uploader(key="bench_own_file").set_value(
        ("m.json", text.encode(), "application/json")
    )
    page.run()
    assert not page.exception
    assert "Took in 1 entries." in words_of(page)
    assert set(own_printers()) == {"mine"}
    page.file_uploader(key="bench_own_file").set_value(("n.json", b"{}", "application/json"))
    page.run()
    assert any("not taken in" in sentence for sentence in errors(page))
    assert set(own_printers()) == {"mine"}


def test_a_store_that_cannot_be_read_is_said_and_the_bench_goes_on(own_folder: Path) -> None:
    (own_folder / "materials.sqlite3").write_bytes(b"not a database at all, " * 100)
    page = opened(bench_droop_drop="30")
    assert sum("cannot be read" in sentence for sentence in errors(page)) == 1
    assert "elastic modulus" in words_of(page)


def test_the_strip_that_is_offered_is_typed_under_printer() -> None:
    page = opened()
    page.button(key="bench_pieces_holes").click().run()
    holes = page.text_input(key="bench_pins_drawn").value.split("; ")
    assert len(holes) == 7
    assert f"from {holes[0]} to {holes[-1]} mm" in words_of(page)


def test_files_are_made_when_they_are_asked_for(tmp_path: Path) -> None:
    made = []

    def make() -> object:
        made.append(1)
        return droop_strip()

    assert not made
    assert len(_made(make, "stl")) > 84  # type: ignore[arg-type]
    (tmp_path / "strip.3mf").write_bytes(_made(make, "3mf"))  # type: ignore[arg-type]
    assert any(name.endswith(".model") for name in ZipFile(tmp_path / "strip.3mf").namelist())
    assert len(made) == 2
