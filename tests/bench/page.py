"""How soon the page shows an event: a long job well under way beside one just begun.

    python tests/bench/page.py [EVENTS [MADE]]

The long one has 10,000 cuts, MADE of them (2000) already in its journal; the other's is empty.
Both sessions are real (engine, journal on disk, page, Chromium); they take turns, so that a
busy machine slows both. Printed for each, in ms: the session's own time for an event (until
it can take the next), and the time until the browser has changed the page.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.page.browser import COUNT_WHEEL, Shown, chromium

# What is awaited changes with every event. A beat writes other places anew, twice a second: to
# watch the whole page would take a beat for the event, or, while the browser is busy, the last
# of many beats. The page's own clock shows for how long the browser itself stood still.
WATCH = """() => {
    window.changed = 0;
    window.still = 0;
    let last = Date.now();
    setInterval(() => {
        window.still = Math.max(window.still, Date.now() - last);
        last = Date.now();
    }, 20);
    new MutationObserver(() => { window.changed ||= Date.now(); })
        .observe(document.getElementById("awaited"),
                 { subtree: true, childList: true, characterData: true });
}"""
LATE_MS = 500.0  # told one by one, with how long the browser stood still

STEPS = 5  # events from cut to cut: lock off, move, lock, guard, cut


def prepare(browser: Any, folder: Path, cuts: int, made: int = 0) -> tuple[Shown, Any]:
    shown = Shown(folder, COUNT_WHEEL.replace("count = 9", f"count = {cuts}"))
    tab = browser.new_context().new_page()
    tab.goto(shown.page.address)
    tab.wait_for_selector("#gone", state="hidden")
    shown.set_up()
    shown.play(*[""] * (STEPS * made - 2 * (made > 0)))
    assert shown.state.done == made
    tab.evaluate(WATCH)
    return shown, tab


def event(shown: Shown, tab: Any) -> tuple[float, float]:
    tab.evaluate("() => { window.changed = 0; window.still = 0; }")
    before, start = time.time(), time.perf_counter()
    shown.play("")
    own = time.perf_counter() - start
    tab.wait_for_function("() => window.changed > 0", polling=20)
    changed, still = tab.evaluate("() => [window.changed, window.still]")
    took = changed - before * 1000
    if took > LATE_MS:
        print(f"  {took:.0f} ms: the browser stood still for {still:.0f} ms, own {own * 1000:.0f}")
    return own * 1000, took


def line(name: str, times: list[float]) -> str:
    ranked = sorted(times)
    p50, p99 = ranked[len(ranked) // 2], ranked[min(len(ranked) - 1, len(ranked) * 99 // 100)]
    return f"  {name:<28}p50 {p50:6.1f}   p99 {p99:6.1f}   most {ranked[-1]:6.1f}"


def main() -> None:
    events = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    made = int(sys.argv[2]) if len(sys.argv) > 2 else 2000
    with chromium() as browser, tempfile.TemporaryDirectory() as folder:
        jobs = {
            "empty, 1000 cuts": prepare(browser, Path(folder) / "small", 1000),
            f"10,000 cuts, {made} made": prepare(browser, Path(folder) / "large", 10_000, made),
        }
        found: dict[str, list[tuple[float, float]]] = {name: [] for name in jobs}
        for _ in range(events):
            for name, (shown, tab) in jobs.items():
                found[name].append(event(shown, tab))
        for name, times in found.items():
            print(f"{name}, {len(times)} events")
            print(line("the session's own time", [own for own, _ in times]))
            print(line("until the page has changed", [page for _, page in times]))
        for shown, _ in jobs.values():
            shown.close()


if __name__ == "__main__":
    main()
