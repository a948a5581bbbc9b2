"""Small charts as SVG: bars for seconds a cut, marks for measured sizes against their targets.

Black lines and hatching, so that they say the same on any printer; the numbers are in the
tables beside them.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from assistant.job.units import Unit, in_unit
from assistant.paper.history import Size
from assistant.words.language import say

WIDE, HIGH = 900.0, 220.0
LEFT, LOW = 72.0, 30.0
TOP = 14.0  # from the upper edge to the line that its figure stands on: less cuts the figure off
_FINE_MM = 0.1
MOST_BARS = 300  # more cuts than that share bars, each as high as the slowest of its cuts
_HATCH = (
    '<defs><pattern id="{name}" width="5" height="5" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><path d="M0 0V5" stroke="currentColor" stroke-width="1.6"/>'
    "</pattern></defs>"
)


def bars(seconds: Sequence[float | None], name: str, word: str = "") -> str:
    """A bar for every cut, or other `word`, in order; a gap where the time is not known.
    Times in seconds."""
    shared = _shared(seconds)
    most = nice(max((value for value in shared if value is not None), default=1.0))
    wide = (WIDE - LEFT) / max(1, len(shared))
    marks = []
    for n, value in enumerate(shared):
        if value is not None:
            high = (HIGH - LOW) * value / most
            marks.append(
                f'<rect x="{LEFT + n * wide:.2f}" y="{HIGH - LOW - high:.2f}" '
                f'width="{max(wide * 0.8, 0.6):.2f}" height="{high:.2f}" '
                'fill="url(#cut-hatch)" stroke="currentColor" stroke-width="0.7"/>'
            )
    return _frame(
        name, [*_scale(most, "s"), *marks, _below(len(seconds), word or say("cut"))], "cut-hatch"
    )


def _shared(seconds: Sequence[float | None]) -> list[float | None]:
    if len(seconds) <= MOST_BARS:
        return list(seconds)
    each = -(-len(seconds) // MOST_BARS)
    parts = [seconds[n : n + each] for n in range(0, len(seconds), each)]
    return [max((s for s in part if s is not None), default=None) for part in parts]


def sizes(measured: Sequence[Size], name: str, unit: Unit = "mm") -> str:
    """Each size as a dot, the size expected then as a short line, the finished one as a dash. The
    sizes are in mm; `unit` is that of the figures beside the scale."""
    values = [v for m in measured for v in (m.size, m.expected, m.target) if v is not None]
    low, high = min(values), max(values)
    room = (high - low) * 0.15 or 0.5
    low, high = low - room, high + room
    wide = (WIDE - LEFT) / len(measured)

    def y(value: float) -> float:
        return (HIGH - LOW) * (1 - (value - low) / (high - low))

    marks = []
    for n, each in enumerate(measured):
        x = LEFT + (n + 0.5) * wide
        half = min(20.0, wide * 0.4)
        marks.append(_level(x, half, y(each.expected), ""))
        marks.append(_level(x, half, y(each.target), ' stroke-dasharray="5 3"'))
        if each.size is not None:
            marks.append(f'<circle cx="{x:.2f}" cy="{y(each.size):.2f}" r="4.5"/>')
    ends = [
        _text(
            LEFT - 6, y(value) + (TOP if value == high else 4), _figure(value, high - low, unit),
            "end",
        )
        for value in (low, high)
    ]  # fmt: skip
    return _frame(name, [*ends, _axes(), *marks, _below(len(measured), say("size"))], "size-hatch")


def _figure(value_mm: float, over_mm: float, unit: Unit) -> str:
    """A place finer where two would hardly tell the ends of the scale apart."""
    places = (2 if over_mm >= _FINE_MM else 3) + (unit == "in")
    return f"{in_unit(value_mm, unit):.{places}f}"


def _level(x: float, half: float, y: float, dash: str) -> str:
    return (
        f'<path d="M{x - half:.2f} {y:.2f}H{x + half:.2f}" fill="none" stroke="currentColor" '
        f'stroke-width="1.6"{dash}/>'
    )


def nice(value: float) -> float:
    """The next number of 1, 2 or 5 with noughts, for the top of a scale."""
    if value <= 0:
        return 1.0
    ten = 1.0
    while ten * 10 <= value:
        ten *= 10
    while ten > value:
        ten /= 10
    return next(step * ten for step in (1, 2, 5, 10) if step * ten >= value)


def _scale(most: float, unit: str) -> list[str]:
    lines = [_axes()]
    for part in (0.0, 0.5, 1.0):
        y = (HIGH - LOW) * (1 - part)
        lines.append(
            _text(LEFT - 6, y + (TOP if part == 1 else 4), f"{most * part:g} {unit}", "end")
        )
        lines.append(
            f'<path d="M{LEFT} {y:.2f}H{WIDE}" stroke="currentColor" stroke-width="0.3" '
            'stroke-dasharray="2 3"/>'
        )
    return lines


def _axes() -> str:
    return (
        f'<path d="M{LEFT} 0V{HIGH - LOW}H{WIDE}" fill="none" stroke="currentColor" '
        'stroke-width="1.2"/>'
    )


def _below(count: int, word: str) -> str:
    first, last = _text(LEFT, HIGH - 10, f"{word} 1", "start"), ""
    if count > 1:
        last = _text(WIDE, HIGH - 10, f"{word} {count}", "end")
    return first + last


def _text(x: float, y: float, words: str, anchor: str) -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(words)}</text>'


def _frame(name: str, marks: Sequence[str], hatch: str) -> str:
    return (
        f'<svg viewBox="0 0 {WIDE:g} {HIGH:g}" role="img" aria-label="{escape(name)}" '
        f'fill="currentColor">{_HATCH.format(name=hatch)}{"".join(marks)}</svg>'
    )
