"""Hook of config/mkdocs.yml: what the navigation takes from folders, and links that leave docs/."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from mkdocs.config.defaults import MkDocsConfig
from mkdocs.structure.files import File, Files
from mkdocs.structure.pages import Page

DECISIONS = "decisions/index.md"
_OUTSIDE = re.compile(
    r"\]\((?:\.\./)+(?P<path>(?:assistant|config|solver|tests)/[^)]*|[A-Z]+\.md)\)"
)


def on_config(config: MkDocsConfig) -> MkDocsConfig:
    """Every page stands in the navigation: kinds of work and decisions by their folders."""
    docs = Path(config.docs_dir)
    sections: dict[str, list[Any]] = {
        name: pages for each in config.nav or [] for name, pages in each.items()
    }
    named = {page for pages in sections.values() for page in _named(pages)}
    sections["Look up"] += sorted({path.name for path in docs.glob("*.md")} - named)
    sections["Kinds of work"] += _pages(docs, "work")
    sections["Decisions"] += [{"All decisions": DECISIONS}, *_pages(docs, "decisions")]
    return config


def _named(pages: Any) -> list[str]:
    """The files of a section: one page, or a list of titles with their pages."""
    return [pages] if isinstance(pages, str) else [file for each in pages for file in each.values()]


def _pages(docs: Path, folder: str) -> list[str]:
    return [f"{folder}/{path.name}" for path in sorted((docs / folder).glob("*.md"))]


def on_files(files: Files, config: MkDocsConfig) -> Files:
    """The list of decisions, each by its heading."""
    lines = ["# Decisions", "", "Why things are as they are: a short page for each choice.", ""]
    for path in sorted((Path(config.docs_dir) / "decisions").glob("*.md")):
        heading = path.read_text("utf-8").partition("\n")[0].removeprefix("# ")
        lines.append(f"- [{heading}]({path.name})")
    files.append(File.generated(config, DECISIONS, content="\n".join(lines) + "\n"))
    return files


def on_page_markdown(markdown: str, page: Page, config: MkDocsConfig, files: Files) -> str:
    """A link to a file of the repository outside docs/ becomes that file's name."""
    return _OUTSIDE.sub(lambda m: f" (`{m['path']}` in the repository)", markdown)
