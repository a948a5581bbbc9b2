"""The page as it is first sent: frame, drawings without what changes, and nothing from outside."""

from __future__ import annotations

from html import escape
from importlib.resources import files
from json import dumps
from re import sub

from assistant.drawing import ink, part_view, plate
from assistant.engine.asked import Act, on_the_page
from assistant.engine.view import PartSight, PlateSight
from assistant.words.language import say, speaking

SECURITY = {
    "Content-Security-Policy": (
        "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; "
        "connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cache-Control": "no-store",
}

NO_KEY = (
    '<!doctype html><html lang="en"><meta charset="utf-8"><title>Key needed</title>'
    "<h1>This page needs its key</h1><p>Scan the code that the terminal at the bench shows "
    "when the session begins with --network.</p></html>"
)


def static(name: str) -> bytes:
    """A file of the page, from the package itself."""
    return files("assistant.page").joinpath(name).read_bytes()


def bench_page(
    plate_sight: PlateSight | None,
    part_sight: PartSight | None,
    edition: str,
    token: str,
    language: str = "en",
) -> bytes:
    """The whole page for these drawings. `edition` tells a page that it is out of date."""
    with speaking(language) as spoken:
        text = sub(r"\{say:([^{}]*)\}", lambda found: escape(say(found[1])), _page())
        buttons = _buttons()
        words = dumps(_script_words(), ensure_ascii=False)
        drawn = {"PLATE": _plate(plate_sight), "PART": _part(part_sight)}
    filled = {
        "LANGUAGE": escape(spoken.code),
        "WORDS": escape(words),
        "BUTTONS": buttons,
        "EDITION": escape(edition),
        "TOKEN": escape(token),
        **drawn,
    }
    for name, value in filled.items():
        text = text.replace(f"<!--{name}-->", value).replace(f"%{name}%", value)
    return text.encode("utf-8")


def _page() -> str:
    return static("page.html").decode("utf-8")


def _buttons() -> str:
    """What may be asked or given by name, for the commands and acts of the one table."""
    return "\n        ".join(
        f'<button type="button" data-{"act" if isinstance(what, Act) else "command"}="{what.value}"'
        f" disabled>{escape(say(label))}</button>"
        for what, label in on_the_page().items()
    )


def _script_words() -> dict[str, str]:
    """What the page's script says by itself."""
    return {
        "closed": say("Session closed"),
        "gone": say("Session gone"),
        "old": say(
            "What stands here is old. Trust the work and the scale. Trying again by itself."
        ),
        "none": say("none"),
        "scrap": say("Scrap"),
        "surely": say("Scrap: tap once more"),
    }


def _plate(sight: PlateSight | None) -> str:
    if sight is None:
        return ""
    return _drawing(plate.base(sight), plate.SIZE, "plate-drawing")


def _part(sight: PartSight | None) -> str:
    if sight is None:
        return ""
    return _drawing(part_view.base(sight), part_view.SIZE, "part-drawing")


def _drawing(marks: list[ink.Mark], size: float, name: str) -> str:
    """The caption under a drawing, which changes with it, says what it shows."""
    box = f"{-size:g} {-size:g} {2 * size:g} {2 * size:g}"
    return (
        f'<svg id="{name}" viewBox="{box}" role="img" aria-labelledby="{name}-caption">'
        f"<g>{ink.to_svg(marks)}</g><g></g></svg>"
    )
