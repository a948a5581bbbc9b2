"""A session shown on a page, and that page in the browser."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.page.browser import Shown


@pytest.fixture
def shown(tmp_path: Path) -> Iterator[Shown]:
    session = Shown(tmp_path)
    yield session
    session.close()


@pytest.fixture
def tab(browser: Any, shown: Shown) -> Iterator[Any]:
    """The page of `shown` on a monitor; an error or a warning in the browser fails the test."""
    context = browser.new_context(viewport={"width": 1920, "height": 1080})
    page = context.new_page()
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", lambda m: faults.append(m.text) if m.type in ("error", "warning") else None)
    page.goto(shown.page.address)
    page.wait_for_selector("#gone", state="hidden")
    yield page
    context.close()
    assert not [fault for fault in faults if "ERR_" not in fault], faults
