"""Makes docs/read-from-afar.md: `python -m tests.docs.arcs`. What each screen shows at each kind of
step, in minutes of arc at two metres, measured in Chromium."""

from __future__ import annotations

from assistant.page.display import PageDisplay
from tests.commands import ROOT
from tests.page.arcs import arcs
from tests.page.browser import SCREENS, chromium
from tests.page.kinds_of_step import KINDS, view

SHOWN = ("monitor", "tablet", "phone")
_HEAD = """# Read from afar

Height of a capital or a figure on the bench page, in minutes of arc at two metres, made by
`python -m tests.docs.arcs`. A person of normal sight resolves 5; ISO 9241-303 gives 16 as the least
for reading and recommends 20 to 22 (from memory). Monitor: 24 in, 1920 × 1080; tablet: 10.1 in,
1280 × 800; phone: 6.1 in, 390 × 844, which is in the hand.

| step | what | text | monitor | tablet | phone |
|---|---|---|---:|---:|---:|
"""


def main() -> None:
    found: dict[str, list[dict[str, float]]] = {kind: [] for kind in KINDS}
    with chromium() as browser:
        page = PageDisplay(0)
        for screen in SHOWN:
            tab = browser.new_page(viewport=SCREENS[screen])
            for kind in KINDS:
                tab.goto("about:blank")
                page.show(view(kind))
                tab.goto(page.address)
                tab.wait_for_selector("#gone", state="hidden")
                found[kind].append(arcs(tab, screen))
        page.close()
    rows = [
        f"| {kind} | {_row(name)} | " + " | ".join(f"{each.get(name, 0):.0f}′" for each in each3)
        for kind, each3 in found.items()
        for name in each3[0]
    ]
    text = _HEAD + "\n".join(f"{row} |" for row in rows) + "\n"
    (ROOT / "docs" / "read-from-afar.md").write_text(text, "utf-8")


_WHAT = {
    "#awaited": "order",
    "#measured": "measured",
    "#cells b": "figure",
    "#cells span": "its words",
    "#steady b": "smaller figure",
    "#steady span": "its words",
    "#lock span": "lock",
    "#guard span": "guard",
    "#scale": "scale",
    "#cut": "cut",
}


def _row(name: str) -> str:
    place, _, text = name.partition(": ")
    return f"{_WHAT.get(place, place)} | {text[:40]}"


if __name__ == "__main__":
    main()
