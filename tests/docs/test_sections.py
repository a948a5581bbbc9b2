"""The page of cut sections shows what the program draws, kind by kind."""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest

from assistant.job.kinds.by_name import KINDS
from tests.commands import ROOT
from tests.docs import kinds, sections
from tests.kinds import crafts

PAGE = (ROOT / "docs" / "cut-sections.md").read_text("utf-8")
SHOWN = re.findall(r"\(pictures/section-([a-z-]+)\.svg\)", PAGE)


def test_every_kind_that_is_drawn_is_shown() -> None:
    """A picture a kind, each by its own name, and none that nothing makes."""
    made = {path.stem.removeprefix("section-") for path in sections.PICTURES.glob("section-*.svg")}
    assert made == set(SHOWN) == set(sections.EXAMPLES)


@pytest.mark.parametrize("page", kinds.texts(), ids=lambda page: page.stem)
def test_the_pages_of_kinds_are_of_today(page: Path) -> None:
    """`python -m tests.docs.kinds` makes them."""
    assert page.read_text("utf-8") == kinds.filled(page)


def test_every_kind_is_cut_by_the_machinist() -> None:
    """And none that is no kind."""
    assert set(crafts()) == set(KINDS)


@pytest.mark.parametrize("kind", ["polygon", "keyways", "divisions", "rule"])
def test_the_picture_is_what_is_cut_today(kind: str) -> None:
    """The kinds whose outlines are straight come out alike with every version of the geometry."""
    assert sections.picture(kind) == (sections.PICTURES / sections.path_of(kind)).read_text("utf-8")


@pytest.mark.parametrize("kind", ["polygon", "splines", "keyways", "clutch", "spur-gear"])
def test_nothing_stands_out_and_nothing_is_missing(kind: str) -> None:
    """In the picture as it was kept: no red and no yellow that is wider than a hair."""
    root = ElementTree.parse(sections.PICTURES / sections.path_of(kind)).getroot()
    for path in root.iter("{http://www.w3.org/2000/svg}path"):
        if path.get("class") in ("proud", "missing"):
            points = re.findall(r"([\d.]+),([\d.]+)", path.get("d", ""))
            spans = [
                max(each) - min(each) for each in zip(*[map(float, p) for p in points], strict=True)
            ]
            assert min(spans) < 8, (kind, path.get("class"), path.get("d", "")[:80])
