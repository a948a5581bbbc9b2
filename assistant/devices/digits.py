"""Figures drawn large out of blocks, to be read from a step away."""

from __future__ import annotations

ROWS = 5
_SHAPES = {
    "0": "### #.# #.# #.# ###",
    "1": ".#. ##. .#. .#. ###",
    "2": "### ..# ### #.. ###",
    "3": "### ..# .## ..# ###",
    "4": "#.# #.# ### ..# ..#",
    "5": "### #.. ### ..# ###",
    "6": "### #.. ### #.# ###",
    "7": "### ..# .#. .#. .#.",
    "8": "### #.# ### #.# ###",
    "9": "### #.# ### ..# ###",
    "/": "..# ..# .#. #.. #..",
    "+": "... .#. ### .#. ...",
    "-": "... ... ### ... ...",
    ".": "... ... ... ... .#.",
    " ": "... ... ... ... ...",
}


def can_draw(text: str) -> bool:
    return bool(text) and all(c in _SHAPES for c in text)


def draw(text: str, scale: int = 1, ink: str = "█") -> list[str]:
    """`ROWS * scale` lines. A dot of the shape is two columns wide for each row it is high.

    Raises KeyError for a character that `can_draw` denies.
    """
    lines = []
    for row in range(ROWS):
        shapes = ("".join(_SHAPES[c].split()[row]) for c in text)
        dots = ".".join(shapes)
        line = "".join((ink if dot == "#" else " ") * (2 * scale) for dot in dots)
        lines += [line] * scale
    return lines


def width(text: str, scale: int = 1) -> int:
    """Columns that `draw` takes."""
    return (4 * len(text) - 1) * 2 * scale
