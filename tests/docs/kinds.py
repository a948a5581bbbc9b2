"""The list of kinds and the page of what comes off the machine: `python -m tests.docs.kinds`.

With the name of a kind also its pictures.
"""

from __future__ import annotations

import sys
from pathlib import Path
from textwrap import fill

from assistant.job.kinds.by_name import KINDS
from tests.commands import ROOT
from tests.docs import sections
from tests.docs.pictures import part_of
from tests.kinds import crafts
from tests.machinist.craft import Craft

BEGIN, END = "<!-- made by tests.docs.kinds -->", "<!-- so far -->"
LIST, SECTIONS = ROOT / "docs" / "kinds.md", ROOT / "docs" / "cut-sections.md"


def texts() -> dict[Path, str]:
    """What stands between the marks of each page."""
    return {LIST: _list(), SECTIONS: _sections()}


def _list() -> str:
    rows = [f"| [`{kind.name}`](work/{kind.name}.md) | {kind.title} |" for kind in KINDS.values()]
    return "\n".join(["| kind | for |", "|---|---|", *rows])


def _sections() -> str:
    """In the order of the kinds: those with a form, then those that are places alone."""
    known = [crafts()[name] for name in KINDS]
    forms = [_shown(each) for each in known if each.told]
    places = ", ".join(each.kind for each in known if not each.told)
    marks = [_picture(each) for each in known if not each.told and each.example]
    judged = "have no section: judged is where each cut was made, how long a line is, and which"
    drawn = "figure is stamped beside it. Grey marks were made, blue ones are drawn."
    intro = fill(f"These and rings of them ({places}) {judged} {drawn}", 118)
    return "\n\n".join(["## Sections", *forms, "## Places", intro, *marks])


def _shown(craft: Craft) -> str:
    told = fill(craft.told, 118)
    return f"{told}\n\n{_picture(craft)}" if craft.example else told


def _picture(craft: Craft) -> str:
    return f"![{craft.shows}](pictures/section-{craft.kind}.svg)"


def filled(page: Path) -> str:
    """The page with that part as code has it. Raises ValueError where it has no marks."""
    before, rest = page.read_text("utf-8").split(BEGIN)
    _, after = rest.split(END, 1)
    return f"{before}{BEGIN}\n\n{texts()[page]}\n\n{END}{after}"


def pictures(kind: str) -> None:
    """The drawing of its page's example, and what is cut of the job that is shown. Raises KeyError
    for a kind that nobody cuts, FileNotFoundError for one without a page."""
    page = ROOT / "docs" / "work" / f"{kind}.md"
    (sections.PICTURES / f"work-{kind}.svg").write_text(part_of(page), "utf-8")
    if crafts()[kind].example:
        (sections.PICTURES / sections.path_of(kind)).write_text(sections.picture(kind), "utf-8")


if __name__ == "__main__":
    for each in sys.argv[1:]:
        pictures(each)
    for each in texts():
        each.write_text(filled(each), "utf-8")
