"""Makes anew all that is made from the code, and touches nothing else: `python -m tests.make`.

The catalogue of each language, the pages, the drawings of house and session; `--pictures` also
those that the program and Chromium draw, and the page of first choices (minutes). At the end it
names each file that is another now, and each sentence that waits for a translator.
"""

from __future__ import annotations

import subprocess
import sys
from hashlib import sha256
from pathlib import Path
from time import perf_counter

from assistant.tools import catalogue
from tests.commands import ROOT

LANGUAGES = ROOT / "config" / "language"
QUICK = (
    ("assistant.tools.catalogue", "gather"),
    ("assistant.tools.diagram", "docs/session.md"),
    ("tests.docs.asked",),
    ("tests.docs.findings",),
    ("tests.docs.house",),
    ("tests.docs.kinds",),
    ("tests.docs.settings",),
)
LONG = (("tests.docs.order",), ("tests.docs.sections",), ("tests.docs.pictures",))


def steps(*, pictures: bool) -> list[tuple[str, ...]]:
    """The modules to run, each with its words."""
    compiled = [
        ("assistant.tools.catalogue", "compile", str(po.parent.relative_to(ROOT)))
        for po in sorted(LANGUAGES.glob("*/messages.po"))
    ]
    return [QUICK[0], *compiled, *QUICK[1:], *(LONG if pictures else ())]


def untranslated() -> dict[Path, list[str]]:
    """For each language, the sentences that stay English."""
    return {
        po.relative_to(ROOT): [
            repr(each) for each in catalogue.untranslated(catalogue.read_catalogue(po))
        ]
        for po in sorted(LANGUAGES.glob("*/messages.po"))
    }


def _state() -> dict[str, str]:
    """Each file in the folders that something made lies in, with the hash of what is in it."""
    files = [
        ROOT / "README.md",
        ROOT / "config" / "tallyhand.toml",
        *(ROOT / "docs").rglob("*"),
        *LANGUAGES.rglob("*"),
    ]
    return {
        str(file.relative_to(ROOT)): sha256(file.read_bytes()).hexdigest()
        for file in files
        if file.is_file()
    }


def main(words: list[str]) -> int:
    if words not in ([], ["--pictures"]):
        print(__doc__)
        return 2
    before, began = _state(), perf_counter()
    for module, *more in steps(pictures=bool(words)):
        if subprocess.run([sys.executable, "-m", module, *more], cwd=ROOT, check=False).returncode:
            print(f"stopped at {' '.join((module, *more))}", file=sys.stderr)
            return 1
    after = _state()
    changed = sorted(name for name, text in after.items() if before.get(name) != text)
    print(f"made in {perf_counter() - began:.0f} s; changed: {', '.join(changed) or 'nothing'}")
    for po, sentences in untranslated().items():
        for sentence in sentences:
            print(f"{po}: to be translated: {sentence}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
