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
    "−": "... ... ### ... ...",
    "°": ".#. #.# .#. ... ...",
    "′": ".#. .#. ... ... ...",
    ".": "... ... ... ... .#.",
    " ": "... ... ... ... ...",
}


def draw_digits(text: str, scale: int = 1, ink: str = "█") -> list[str]:
    """`ROWS * scale` lines. A dot of the shape is two columns wide for each row it is high.

    A character that is not drawn here leaves its room empty.
    """
    lines = []
    for row in range(ROWS):
        shapes = ("".join(_SHAPES.get(c, _SHAPES[" "]).split()[row]) for c in text)
        dots = ".".join(shapes)
        line = "".join((ink if dot == "#" else " ") * (2 * scale) for dot in dots)
        lines += [line] * scale
    return lines


def width(text: str, scale: int = 1) -> int:
    """Columns that `draw_digits` takes."""
    return (4 * len(text) - 1) * 2 * scale
