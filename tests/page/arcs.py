"""How high lettering on the page is, in minutes of arc at two metres."""

from __future__ import annotations

from math import tau
from typing import Any

# Pixel pitch in mm: a 24-inch monitor of 1920 x 1080 (531 mm wide), a 10.1-inch tablet of
# 1280 x 800 (217 mm wide), a 6.1-inch phone of 390 x 844 (65 mm wide): from the diagonal.
PITCH_MM = {
    "monitor": 531 / 1920,
    "tablet": 217 / 1280,
    "tablet-on-end": 217 / 1280,
    "phone": 65 / 390,
}
DISTANCE_MM = 2000
# Height of a capital letter or figure. 16 is the least that ISO 9241-303 lets stand for reading,
# 20 to 22 what it recommends (both from memory); a normal eye resolves 5.
LEAST, FIGURES, NEAR, LONGEST = 20, 30, 14, 12

READ = "#awaited, #measured, .cells b, .cells span, .check .words, #scale, #cut"

_HEIGHTS = """selector => Object.fromEntries([...document.querySelectorAll(selector)]
  .filter(e => e.offsetHeight && e.textContent).map(e => {
    const style = getComputedStyle(e);
    const pen = document.createElement('canvas').getContext('2d');
    pen.font = `${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
    const place = e.closest('[id]').id, tag = e.id === place ? '' : ` ${e.tagName.toLowerCase()}`;
    return [`#${place}${tag}: ${e.textContent}`, pen.measureText('0').actualBoundingBoxAscent];
  }))"""


def arcs(tab: Any, pitch: str | float, selector: str = READ) -> dict[str, float]:
    """Heights of what is shown, by place and text. `pitch`: mm a pixel, or a screen's name."""
    mm = PITCH_MM[pitch] if isinstance(pitch, str) else pitch
    per_mm = 360 * 60 / (tau * DISTANCE_MM)
    found: dict[str, float] = tab.evaluate(_HEIGHTS, selector)
    return {name: pixels * mm * per_mm for name, pixels in found.items()}
