"""Makes the pictures of docs/ anew: `python -m tests.docs.pictures [FOLDER]`.

The page, the terminal and the job sheet are photographed in Chromium, from a rehearsed job;
plates and parts are the program's own drawings.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from html import escape
from io import BytesIO
from pathlib import Path
from typing import Any

from PIL import Image

from assistant.bench.session import view_of
from assistant.commands.sheet import written
from assistant.devices.terminal.screen import Painter
from assistant.drawing import ink, outline, plate
from assistant.engine.events import Tone
from assistant.engine.phases import Step
from assistant.engine.presenting import plate_sight
from assistant.engine.state import State
from assistant.engine.view import LastInput, Verdict
from assistant.job.compiler import Stage, head_of, stages_of
from assistant.job.job_file import Job, job_from_text, read_job
from assistant.paper.pdf import pdf_of
from tests.commands import JOBS, PINION, ROOT
from tests.page.browser import Shown, chromium, wait_text

PICTURES = ROOT / "docs" / "pictures"
_STYLE = re.compile(r"\x1b\[(\d+)m")
_LOOK = {"1": "bold", "7": "reverse", "32": "green", "31": "red", "33": "amber"}


def main(words: list[str]) -> None:
    folder = Path(words[0]) if words else PICTURES
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in drawings().items():
        (folder / name).write_text(text, "utf-8")
    with chromium() as browser, tempfile.TemporaryDirectory() as spare:
        for name, picture in photographs(browser, Path(spare)):
            _save(picture, folder / name)


# --- drawings: the same every time --------------------------------------------------------


def drawings() -> dict[str, str]:
    """File name and SVG of every plate and part that the pages show."""
    made = {"plate.svg": plate_of(_stage(PINION))}
    for page in sorted((ROOT / "docs" / "work").glob("*.md")):
        made[f"work-{page.stem}.svg"] = part_of(page)
    return made


def plate_of(stage: Stage) -> str:
    """The plate with the arms set, the holes to count and the next hole."""
    sight = plate_sight(stage.programme, State(step=Step.INDEX, place=1, settled=0))
    assert sight is not None
    marks = [*plate.base(sight), *plate.overlay(sight)]
    return ink.plate_svg(marks, plate.SIZE, plate.caption(sight), paper=True) + "\n"


def part_of(page: Path) -> str:
    """The part that the worked example of a page makes, of all its settings the fullest."""
    job = job_of(page)
    shown = [stage.programme.drawing for stage in stages_of(job, head_of(job))]
    part = max((each for each in shown if each), key=lambda each: len(each.shapes))
    return outline.part_svg(part, title=job.title) + "\n"


def job_of(page: Path) -> Job:
    match = re.search(r"```toml\n(.*?)```", page.read_text("utf-8"), re.DOTALL)
    assert match, f"{page.name} has no job"
    return job_from_text(match[1], page.name)


def _stage(path: Path) -> Stage:
    job = read_job(path)
    return stages_of(job, head_of(job))[0]


# --- photographs ---------------------------------------------------------------------------


def photographs(browser: Any, spare: Path) -> Iterator[tuple[str, bytes]]:
    """File name and PNG of each picture that needs a browser or a printer."""
    yield from _page_picture(browser, spare)
    yield "terminal.webp", _terminal(browser)
    yield "job-sheet.webp", _job_sheet(spare)


def _page_picture(browser: Any, spare: Path) -> Iterator[tuple[str, bytes]]:
    """The second cut of the pinion: the move called."""
    shown = Shown(spare, PINION.read_text("utf-8"))
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    tab = context.new_page()
    tab.goto(shown.page.address)
    shown.set_up()
    for words in ("spindle locked", "guard closed", "cut done", "lock is off"):
        shown.play(words)
    wait_text(tab, "#heading", "Turn")
    yield "bench-page-move.webp", tab.screenshot()
    context.close()
    shown.close()


def _terminal(browser: Any) -> bytes:
    """The same move on a terminal of 100 columns and 26 lines."""
    work = _stage(PINION).programme
    state = State(step=Step.INDEX, place=2, settled=1, done=2)
    said = "One turn, then nineteen holes on the twenty-one circle."
    view = replace(
        view_of(work, state, said), heard=LastInput("“lock is off”, taken", Verdict.TAKEN)
    )
    lines = Painter(colour=True, blocks=True).paint(view, (100, 26), Tone.ACCEPTED)
    context = browser.new_context(viewport={"width": 900, "height": 520})
    tab = context.new_page()
    tab.set_content(_TERMINAL.replace("LINES", "\n".join(map(_coloured, lines))))
    picture: bytes = tab.locator("pre").screenshot()
    context.close()
    return picture


_TERMINAL = """<style>
pre { font: 14px/1.2 "DejaVu Sans Mono", monospace; background: #14181c; color: #dde3e8;
      padding: 12px; margin: 0; width: max-content; min-width: 100ch; }
.bold { font-weight: bold; color: #fff; } .reverse { background: #dde3e8; color: #14181c; }
.green { color: #7fd18b; } .red { color: #f08a80; } .amber { color: #f0c060; }
</style><pre>LINES</pre>"""


def _coloured(line: str) -> str:
    """The painter's marks as elements."""
    return _STYLE.sub(
        lambda mark: f'<span class="{_LOOK[mark[1]]}">' if mark[1] in _LOOK else "</span>",
        escape(line),
    )


def _job_sheet(spare: Path) -> bytes:
    job = read_job(JOBS / "hexagon-plug.toml")
    head = head_of(job)
    pdf = spare / "sheet.pdf"
    pdf.write_bytes(pdf_of(written(job, head, stages_of(job, head), "a4", pdf)))
    subprocess.run(
        ["pdftoppm", "-png", "-r", "100", "-singlefile", str(pdf), str(spare / "sheet")], check=True
    )
    return (spare / "sheet.png").read_bytes()


def _save(picture: bytes, file: Path) -> None:
    with Image.open(BytesIO(picture)) as image:
        image.convert("RGB").save(file, "WEBP", quality=80, method=6)


if __name__ == "__main__":
    main(sys.argv[1:])
