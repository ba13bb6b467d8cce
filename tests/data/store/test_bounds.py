"""What could hang or fill the memory is refused in words before it is taken."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from data.rules import Refused, check_numbers
from data.store.backup import backup_path
from data.store.design import LARGEST, read_design_file
from data.store.entries import load_entries, save_entry
from data.store.figures import add_event, list_figures, read_events
from data.store.folder import LARGEST_STORE, StoreError, has_file, names_in, read_whole, write_whole
from data.store.salvage import check_store
from tests.tree import ROOT

needs_posix = pytest.mark.skipif(os.name != "posix", reason="pipes and rights of POSIX systems")


@needs_posix
def test_check_of_an_endless_file_ends(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe.json"
    os.mkfifo(pipe)
    for path in ("/dev/zero", str(pipe)):
        done = subprocess.run(
            [sys.executable, "app.py", "check", path],
            cwd=ROOT,
            capture_output=True,
            text=True,
            timeout=60,
        )
        assert done.returncode == 2
        assert "design file must be a file, not a pipe, device or folder" in done.stderr
    large = tmp_path / "large.json"
    with large.open("wb") as stream:
        stream.truncate(10**12)  # takes no room on the disk
    with pytest.raises(Refused, match=f"at most {LARGEST} bytes"):
        read_design_file(large)


def test_a_file_is_read_up_to_its_bound_and_no_further(tmp_path: Path) -> None:
    file = tmp_path / "a"
    file.write_bytes(b"12345")
    assert read_whole("thing", file, 5) == b"12345"
    with pytest.raises(Refused, match="thing must be a file of at most 4 bytes"):
        read_whole("thing", file, 4)
    with pytest.raises(FileNotFoundError):
        read_whole("thing", tmp_path / "none", 4)


@needs_posix
@pytest.mark.parametrize("ending", ["", "-wal"])
def test_a_pipe_in_the_place_of_a_store_is_said(tmp_path: Path, ending: str) -> None:
    store = tmp_path / "own.sqlite3"
    if ending:
        save_entry("wire", "a", {"x": 1}, path=store)
    Path(f"{store}{ending}").unlink(missing_ok=True)
    os.mkfifo(f"{store}{ending}")
    said: list[str] = []

    def use() -> None:
        for act in (
            lambda: check_store(store),
            lambda: load_entries("wire", path=store),
            lambda: save_entry("wire", "b", {"x": 1}, path=store),
        ):
            try:
                act()
            except StoreError as error:
                said.append(str(error))

    thread = threading.Thread(target=use, daemon=True)
    thread.start()
    thread.join(30)
    assert not thread.is_alive(), "it hangs"
    assert len(said) >= 2
    assert all("is a pipe or a device" in words for words in said)


def test_a_huge_store_is_said_and_not_read(tmp_path: Path) -> None:
    store = tmp_path / "own.sqlite3"
    with store.open("wb") as stream:
        stream.truncate(LARGEST_STORE + 1)  # takes no room on the disk
    for act in (lambda: check_store(store), lambda: save_entry("wire", "b", {"x": 1}, path=store)):
        with pytest.raises(StoreError, match="more than the 1000 MB that are read"):
            act()
    assert names_in(tmp_path) == ("own.sqlite3",)


@needs_posix
def test_a_pipe_in_the_place_of_the_second_copy_hinders_no_rescue(tmp_path: Path) -> None:
    store = tmp_path / "own.sqlite3"
    for number in range(5):
        save_entry("wire", f"w{number}", {"x": number}, path=store)
    content = bytearray(store.read_bytes())
    content[:100] = b"\xa5" * 100
    store.write_bytes(content)
    backup_path(store).unlink()
    os.mkfifo(backup_path(store))
    assert len(check_store(store).saved["wire"]) == 5


def test_numbers_are_counted_before_they_are_copied() -> None:
    assert check_numbers("n", [1, 2, 3], least=0, most=9, longest=3).size == 3
    with pytest.raises(Refused, match="n must be at most 2 numbers; got 3"):
        check_numbers("n", [1, 2, 3], least=0, most=9, longest=2)


def test_a_file_is_whole_or_as_it_was_and_no_link_is_followed(tmp_path: Path) -> None:
    other, file = tmp_path / "other", tmp_path / "file"
    other.write_text("theirs", encoding="utf-8")
    file.symlink_to(other)
    write_whole(file, "mine")
    assert other.read_text(encoding="utf-8") == "theirs"
    assert file.read_text(encoding="utf-8") == "mine" and not file.is_symlink()
    write_whole(file, b"\x00\xff")
    assert file.read_bytes() == b"\x00\xff"
    assert names_in(tmp_path) == ("file", "other")


AS_NOBODY = """
import os, pathlib, shutil, sys, tempfile
folder = pathlib.Path(tempfile.mkdtemp())
os.environ["LIMB_TINT_FOLDER"] = str(folder)
process = os.fork()
if not process:
    from data.store.entries import load_entries
    from data.store.folder import has_file, names_in
    from data.store.salvage import check_store
    from tinting.log.swatches import list_swatches, read_photo
    from tinting.log.maintenance import open_log
    from tinting.photo.picture import read_picture
    folder.chmod(0)
    if os.geteuid() == 0:
        os.setgid(65534)
        os.setuid(65534)
    for act in (
        check_store, open_log, list_swatches, lambda: load_entries("wire"),
        lambda: names_in(folder), lambda: has_file(folder / "a"),
        lambda: read_photo("0123456789abcdef0123456789abcdef.jpg"),
    ):
        try:
            act()
        except Exception as error:
            print(type(error).__name__, error)
    sys.stdout.flush()
    os._exit(0)
os.waitpid(process, 0)
folder.chmod(0o700)
shutil.rmtree(folder)
"""


@needs_posix
def test_a_folder_without_rights_is_said_plainly() -> None:
    done = subprocess.run(
        [sys.executable, "-c", AS_NOBODY], cwd=ROOT, capture_output=True, text=True, timeout=120
    )
    assert done.returncode == 0, done.stderr
    said = done.stdout.splitlines()
    assert len(said) == 7, said
    for words in said:
        assert words.startswith("StoreError") and "not yours" in words
    assert not has_file(Path("no such file"))


@needs_posix
def test_a_logbook_that_is_none_is_said_and_a_deep_line_is_counted_lost(tmp_path: Path) -> None:
    book = tmp_path / "0123abcd.events"
    add_event("0123abcd", {"x": 1}, place=tmp_path)
    with book.open("a", encoding="ascii") as stream:
        stream.write("[" * 100_000 + "\n")
    assert read_events("0123abcd", place=tmp_path) == ([{"x": 1}, {}], 1)
    book.unlink()
    theirs = tmp_path / "theirs"
    theirs.write_text("theirs", encoding="utf-8")
    book.symlink_to(theirs)
    with pytest.raises(StoreError, match="no logbook"):
        add_event("0123abcd", {"x": 2}, place=tmp_path)
    assert theirs.read_text(encoding="utf-8") == "theirs"
    book.unlink()
    os.mkfifo(book)
    with pytest.raises(StoreError, match="logbook must be a file"):
        read_events("0123abcd", place=tmp_path)
    with pytest.raises(StoreError, match="no logbook"):
        add_event("0123abcd", {"x": 2}, place=tmp_path)
    os.mkfifo(tmp_path / "00000000.json")
    (listed,) = list_figures(place=tmp_path)
    assert "not a pipe" in listed.damage
