"""What several test files start from: an empty user folder, a browser, a served app."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

from tests.browser.kit import chromium, require_browser, served_app
from tests.tree import modules

# nothing is asserted on time: a busy machine is no fault of what is tested
settings.register_profile("any pace", deadline=None, suppress_health_check=list(HealthCheck))
settings.load_profile("any pace")
# examples are made of the constants of what is loaded too: load all, so that a test tries the same
# whatever ran before it
for package in ("data", "flexcalc", "tinting"):
    modules(package)


@pytest.fixture
def own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The user's folder, empty and of this test alone."""
    monkeypatch.setenv("LIMB_TINT_FOLDER", str(tmp_path))
    return tmp_path


@pytest.fixture(autouse=True)
def no_page_stops(caplog: pytest.LogCaptureFixture) -> Iterator[None]:
    """The last guard of the pages hides no fault from the tests."""
    yield
    assert not [record for record in caplog.records if record.name == "limb_tint"]


@pytest.fixture
def own_place(own_folder: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The user's folder, and the place where names of files lead, both this test's alone."""
    monkeypatch.chdir(own_folder)
    return own_folder


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    require_browser()
    with chromium() as started:
        yield started


@pytest.fixture(scope="module")
def browsed_url(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of an app that, at the end, stumbled over nothing."""
    require_browser()
    folder = tmp_path_factory.mktemp("app")
    with served_app(folder) as address:
        yield address
    assert "Traceback" not in (folder / "server.log").read_text(encoding="utf-8")
