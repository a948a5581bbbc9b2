"""The pages as a site: built without a complaint, whole without a network, no link astray."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

import pytest

from tests.commands import ROOT
from tests.docs.pages import PAGES

MKDOCS = Path(sys.executable).with_name("mkdocs")
# What a page loads by itself, as against links that a reader follows.
LOADED = {("script", "src"), ("img", "src"), ("link", "href"), ("source", "src"), ("iframe", "src")}


class Page(HTMLParser):
    """Links, loaded files and anchors of one page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.links: list[str] = []
        self.loaded: list[str] = []
        self.anchors = {""}
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        self.anchors |= {given[name] for name in ("id", "name") if name in given}
        if given.get("rel") == "canonical":
            return
        for name in ("src", "href"):
            if name in given:
                of = self.loaded if (tag, name) in LOADED else self.links
                of.append(given[name])


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Built as the docs say, with every warning an error."""
    folder = tmp_path_factory.mktemp("site")
    done = subprocess.run(
        [str(MKDOCS), "build", "-f", "config/mkdocs.yml", "--strict", "--site-dir", str(folder)],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return folder


@pytest.fixture(scope="module")
def built(site: Path) -> dict[Path, Page]:
    return {path: Page(path.read_text("utf-8")) for path in site.rglob("*.html")}


def test_every_page_is_built_and_can_be_come_to(site: Path, built: dict[Path, Page]) -> None:
    """Each Markdown page of docs/ is a page of the site, and the start page's menu leads to it."""
    menu = {(site / urlsplit(link).path).resolve() for link in built[site / "index.html"].links}
    for page in (page for page in PAGES if (ROOT / "docs") in page.parents):
        html = site / page.relative_to(ROOT / "docs").with_suffix(".html")
        assert html in built, page
        assert html.resolve() in menu, f"{page}: not in the navigation of config/mkdocs.yml"


def test_no_link_leads_nowhere(site: Path, built: dict[Path, Page]) -> None:
    """Files and anchors inside; addresses outside are only looked at, since no network is here."""
    faults = []
    for path, page in built.items():
        if path.name == "404.html":
            continue
        for link in [*page.links, *page.loaded]:
            parts = urlsplit(link)
            if parts.scheme in ("http", "https", "mailto"):
                if not re.fullmatch(r"[\w.:-]+", parts.netloc or "none"):
                    faults.append(f"{path}: {link}")
                continue
            target = path if not parts.path else (path.parent / unquote(parts.path)).resolve()
            target = target / "index.html" if target.is_dir() else target
            if not target.is_file():
                faults.append(f"{path}: {link}: no such file")
            elif target in built and unquote(parts.fragment) not in built[target].anchors:
                faults.append(f"{path}: {link}: no such place on that page")
    assert not faults, "\n".join(faults)
    assert sum(len(page.links) for page in built.values()) > 1000


def _outside(site: Path, built: dict[Path, Page]) -> Iterator[str]:
    for path, page in built.items():
        yield from (f"{path}: {each}" for each in page.loaded if urlsplit(each).netloc)
    for style in site.rglob("*.css"):
        for found in re.findall(r"url\(['\"]?(?!data:)([^)'\"]+)|@import ['\"]([^'\"]+)",
                                style.read_text("utf-8")):  # fmt: skip
            if urlsplit("".join(found)).netloc:
                yield f"{style}: {''.join(found)}"


def test_nothing_is_loaded_from_outside(site: Path, built: dict[Path, Page]) -> None:
    """No script, style, font or picture comes from another address."""
    assert list(_outside(site, built)) == []


MARKED = re.compile(r"\[[^\]]*\]\((?P<link>[^)\s]+)\)")


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md"])
def test_links_of_the_pages_outside_the_site(name: str) -> None:
    """README and DEVELOPERS point at files that are there."""
    links = MARKED.findall((ROOT / name).read_text("utf-8"))
    assert links
    for link in links:
        parts = urlsplit(link)
        assert parts.scheme in ("http", "https") or (ROOT / parts.path).exists(), link


def test_a_link_that_leads_nowhere_is_found() -> None:
    """The reader of pages sees links, what is loaded, and anchors."""
    page = Page('<a href="x.html#y"><img src="//far/z.png"><h2 id="here">')
    assert (page.links, page.loaded, page.anchors) == (["x.html#y"], ["//far/z.png"], {"", "here"})


@pytest.mark.parametrize("width", [1280, 390])
def test_it_is_read_in_a_browser(browser: Any, site: Path, width: int) -> None:
    """Opened from the disk with the network shut: no error, no picture missing, nothing cut off."""
    context = browser.new_context(viewport={"width": width, "height": 800}, offline=True)
    tab = context.new_page()
    faults: list[str] = []
    tab.on("pageerror", lambda error: faults.append(str(error)))
    tab.on("requestfailed", lambda request: faults.append(request.url))
    for name in ("index", "manual", "troubleshooting", "house", "recipes", "work/polygon"):
        tab.goto(f"file://{site}/{name}.html")
        pictures = tab.evaluate(
            "[...document.images].filter(i => !(i.complete && i.naturalWidth)).map(i => i.src)"
        )
        assert pictures == [], name
        wide = "document.documentElement.scrollWidth - innerWidth"
        assert tab.evaluate(wide) <= 1, f"{name}: wider than a screen of {width}"
    context.close()
    # A browser lets no script read files beside a page: only the search needs a server.
    assert [fault for fault in faults if "search" not in fault] == []
