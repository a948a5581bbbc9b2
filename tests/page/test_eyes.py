"""What is seen at each kind of step, measured in a real Chromium on each screen.

Height of lettering: 16 minutes of arc is the least that ISO 9241-303 lets stand for reading, 20 to
22 what it recommends (both from memory). Two figures in one row with a hairline between them were
read as one ("1 | 19" as 119): place, size and words keep them apart (common practice).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest

from assistant.engine.events import Event, SizeGiven
from assistant.engine.phases import Step
from assistant.engine.requests import REQUESTS
from assistant.engine.state import State
from assistant.page.display import PageDisplay
from tests.page.arcs import LEAST, LONGEST, NEAR, arcs
from tests.page.browser import SCREENS, Shown
from tests.page.kinds_of_step import KINDS, view

LOOKED_AT = ("monitor", "tablet", "phone")
FROM_AFAR = ("monitor", "tablet")


class Look:
    """One page that shows any kind of step, on one screen."""

    def __init__(self, browser: Any, screen: str, language: str = "en") -> None:
        self.language = language
        self.page = PageDisplay(0)
        self._context = browser.new_context(viewport=SCREENS[screen])
        self.tab = self._context.new_page()

    def at(self, kind: str) -> Any:
        self.tab.goto("about:blank")  # an open page would load itself anew for the new drawings
        self.page.show(view(kind, language=self.language))
        self.tab.goto(self.page.address)
        self.tab.wait_for_selector("#gone", state="hidden")
        return self.tab

    def close(self) -> None:
        self._context.close()
        self.page.close()


@pytest.fixture(params=LOOKED_AT)
def look(browser: Any, request: pytest.FixtureRequest) -> Iterator[Look]:
    looked = Look(browser, request.param)
    yield looked
    looked.close()


@pytest.fixture
def monitor(browser: Any) -> Iterator[Look]:
    looked = Look(browser, "monitor")
    yield looked
    looked.close()


_BOXES = """() => [...document.querySelectorAll(
    'h1, .tally, #awaited, #measured, #cells p, #steady p, .check, #scale-box, #typed, .said, '
    + '.heard, .now > .buttons > button, .more, .plate svg, .part svg, .block')]
  .map(e => [e.id || e.className || e.tagName, e.getBoundingClientRect()])
  .filter(([, b]) => b.width > 1 && b.height > 1)
  .map(([name, b]) => [name, b.left, b.top, b.right, b.bottom])"""


_OUT = """() => [...document.querySelectorAll('#awaited, #measured, .cells p, .check dd, '
    + '.now button, #lost')]
    .filter(e => e.scrollWidth > e.clientWidth + 2).map(e => e.textContent)"""
_INKED = """s => { const c = getComputedStyle(document.querySelector(s));
    return [c.color, c.backgroundColor] }"""
_INKS = ("#awaited", "#lock", "#guard")


@dataclass(frozen=True)
class Seen:
    """What is measured at one kind of step; `boxes` are name, left, top, right, bottom in px."""

    boxes: list[Any]
    window: list[int]
    sticks_out: list[str]
    wrap: str
    is_order: bool
    order: str
    stands: dict[str, str]
    inks: dict[str, list[str]]
    heading: str
    arcs: dict[str, float]


def _seen(look: Look, kind: str, screen: str) -> Seen:
    tab = look.at(kind)
    return Seen(
        boxes=tab.evaluate(_BOXES),
        window=tab.evaluate("[innerWidth, innerHeight]"),
        sticks_out=tab.evaluate(_OUT),
        wrap=tab.evaluate("getComputedStyle(by('awaited')).overflowWrap"),
        is_order=tab.evaluate("document.body.dataset.order") == "yes",
        order=tab.text_content("#awaited"),
        stands={box: tab.text_content(f"{box} .words") for box in _INKS[1:]},
        inks={box: tab.evaluate(_INKED, box) for box in _INKS},
        heading=tab.text_content("#heading"),
        arcs=arcs(tab, screen) if screen in FROM_AFAR else {},
    )


_ALL_SEEN: dict[tuple[str, str], dict[str, Seen]] = {}


def all_seen(browser: Any, screen: str, language: str = "en") -> dict[str, Seen]:
    """Each kind of step on this screen: it is shown once, whatever is asked of it."""
    if (screen, language) not in _ALL_SEEN:
        look = Look(browser, screen, language)
        _ALL_SEEN[screen, language] = {kind: _seen(look, kind, screen) for kind in KINDS}
        look.close()
    return _ALL_SEEN[screen, language]


# Each screen; the smallest in German too, whose words are longer, and before a release the largest.
WORDED = [
    *((each, "en") for each in LOOKED_AT),
    ("phone", "de"),
    pytest.param("monitor", "de", marks=pytest.mark.release),
]


@pytest.mark.parametrize(("screen", "language"), WORDED)
def test_nothing_lies_over_anything_and_one_look_does(
    browser: Any, screen: str, language: str
) -> None:
    """At each kind of step all of it lies on the screen, nothing over anything else."""
    for kind, seen in all_seen(browser, screen, language).items():
        boxes = seen.boxes
        assert len(boxes) >= 8, kind
        for n, (one, left, top, right, bottom) in enumerate(boxes):
            for other, left2, top2, right2, bottom2 in boxes[n + 1 :]:
                over = min(right, right2) - max(left, left2), min(bottom, bottom2) - max(top, top2)
                assert min(over) <= 2, (kind, one, other)
        wide, high = seen.window
        # On a phone the drawings may lie below; what is asked and the answer may not.
        for name, left, _, right, bottom in boxes:
            below = wide < 600 and ("drawing" in name or name == "block")
            assert left >= 0 and right <= wide + 1, (kind, name)
            assert bottom <= high + 1 or below, (kind, name, bottom)


@pytest.mark.parametrize(("screen", "language"), WORDED)
def test_no_word_is_cut_in_two(browser: Any, screen: str, language: str) -> None:
    """A long word makes the order smaller; it is not broken, and nothing sticks out."""
    for kind, seen in all_seen(browser, screen, language).items():
        assert seen.sticks_out == [], kind
        assert seen.wrap == "normal" or not seen.is_order, kind


def test_an_order_and_how_things_stand_are_never_alike(browser: Any) -> None:
    """An order is in capitals, paper on ink; a box ink on paper, in other words."""
    orders = [(kind, seen) for kind, seen in all_seen(browser, "monitor").items() if seen.is_order]
    assert len(orders) > 10
    for kind, seen in orders:
        assert seen.order == seen.order.upper()
        for box, words in seen.stands.items():
            assert words != words.upper() and words.lower() not in seen.order.lower(), (kind, words)
            colour, ground = seen.inks[box]
            assert seen.inks["#awaited"][0] != colour and seen.inks["#awaited"][1] != ground


def test_every_step_but_the_set_up_has_an_order_of_its_own() -> None:
    """The set-up's item is its order."""
    assert set(REQUESTS) == set(Step) - {Step.SET_UP}
    assert all(words == words.upper() for words in REQUESTS.values())


@pytest.mark.parametrize(
    ("kind", "lock", "guard"),
    [
        ("set-up, first item", None, None),
        ("set-up, the arms", None, None),
        ("lock, first cut", "not yet", None),
        ("guard", "locked", "not yet"),
        ("cut", "locked", "closed"),
        ("lock off", "locked", None),
        ("the move", "off", None),
        ("measure", None, None),
        ("leave the lock off", "off?", None),
        ("trial, cutter clear", "off?", None),
        ("overshot, lock off", "locked", None),
    ],
)
def test_only_what_matters_now_is_there(
    monitor: Look, kind: str, lock: str | None, guard: str | None
) -> None:
    """No lock or guard where none is asked for; after "lock is off" the box says so."""
    tab = monitor.at(kind)
    for box, words in (("#lock", lock), ("#guard", guard)):
        assert tab.is_visible(box) is (words is not None)
        if words is not None:
            assert tab.text_content(f"{box} .words") == words


def test_what_changes_from_cut_to_cut_is_the_largest(look: Look) -> None:
    """A line's number stands over its depth; a move's holes over all."""
    for kind in ("a line", "a line's guard", "cut", "the move", "a line's move", "measure",
                 "lock, after a move"):  # fmt: skip
        sizes = arcs(look.at(kind), 1.0)
        largest = max(sizes.values())
        figures = [size for name, size in sizes.items() if name.startswith("#cells b")]
        assert figures and max(figures) == largest, (kind, sizes)
    line = arcs(look.at("a line"), 1.0)
    assert line["#cells b: 16"] > 1.3 * line["#steady b: 0.2"]
    assert "#cells span: middle line" in line


def test_turns_and_holes_are_no_one_figure(look: Look) -> None:
    """Turns stand over holes, smaller, each with its words beside it."""
    for kind in ("the move", "the call"):
        tab = look.at(kind)
        rows = tab.evaluate(
            """() => [...document.querySelectorAll('#cells b')].map(b => {
                const r = document.createRange(); r.selectNodeContents(b.parentElement);
                const at = b.getBoundingClientRect(), row = b.parentElement.getBoundingClientRect();
                return [b.textContent, row.top, row.bottom, at.left,
                        parseFloat(getComputedStyle(b).fontSize), b.nextElementSibling.textContent];
            })"""
        )
        (turns, _, foot, left, small, turn), (holes, top, _, right, tall, on) = rows
        assert (turns, turn, holes, on) == ("1", "turn", "19", "holes on 21")
        assert top >= foot - 1 and right > left and tall >= 1.15 * small


@pytest.mark.parametrize("screen", FROM_AFAR)
def test_what_matters_is_read_from_two_metres(browser: Any, screen: str) -> None:
    """20 minutes of arc and more at each kind of step, but for what is read near at hand."""
    for kind, seen in all_seen(browser, screen).items():
        # A size is taken with the instrument in the hand, and "Cut 5 of 6" is not asked there.
        near = view(kind).phase == "measure"
        item = view(kind).item and kind not in ("set-up, first item", "set-up, the plate")
        least = NEAR if near or item else LEAST
        least = LONGEST if kind == "set-up, the longest item" else least
        least = LEAST - 2 if view(kind).heard.notice else least  # the notice takes room as well
        assert seen.arcs
        for name, arc in seen.arcs.items():
            assert arc >= least or (near and name.startswith("#cut")), (kind, name, arc)


@pytest.mark.parametrize("screen", FROM_AFAR)
@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("pedal away", "Away: pedal"),
        ("pedal not believed", "Pedal not believed: leave it be"),
        ("disk full", "Nothing counts now: no log"),
        ("too loud for the ear", "Too loud for my ear: press for lock and guard"),
    ],
)
def test_why_an_answer_does_not_count_is_read_from_afar(
    browser: Any, screen: str, kind: str, words: str
) -> None:
    """Who presses and hears no more than a tone looks at the page: 16 minutes of arc and more."""
    looked = Look(browser, screen)
    (told,) = arcs(looked.at(kind), screen, "#lost").items()
    assert told[0] == f"#lost: {words}" and told[1] >= 16
    looked.close()


def test_no_heading_reads_as_how_the_lock_stands(browser: Any) -> None:
    """ "Lock on" over the order to lock is a fact to who reads it from afar; so is "Lock off"."""
    for kind, seen in all_seen(browser, "monitor").items():
        words = {word.lower() for word in seen.heading.split()}
        assert words and not {"on", "off", "locked", "closed"} & words, kind


def test_in_the_set_up_the_plate_shows_what_the_arms_embrace(monitor: Look) -> None:
    """Counted holes, both arms, how many spaces on their side, and the circle's own number.

    21 divisions at 40 to 1: one turn and 19 holes on 21 (handbook tables, from memory).
    """
    tab = monitor.at("set-up, the arms")
    plate = "#plate-drawing"
    assert tab.locator(f"{plate} [data-count]").count() == 19
    assert tab.locator(f"{plate} [data-arm=left]").count() == 1
    assert tab.locator(f"{plate} .target").count() == 0
    assert tab.locator(f"{plate} .name").all_text_contents() == ["19", "21"]


def test_a_size_is_typed_and_skipping_is_chosen(monitor: Look) -> None:
    """The large button gives the size; to go on without one stands under More."""
    events: list[Event] = []
    monitor.page.start(events.append)
    tab = monitor.at("measure")
    assert tab.is_hidden("#press") and tab.is_hidden("#skip")
    tab.fill("#figure", "24,48")
    tab.wait_for_function("() => !document.querySelector('#figure').disabled")
    with tab.expect_response("**/press"):
        tab.click("button[data-act='figure']")
    given = [event for event in events if isinstance(event, SizeGiven)]
    assert [(event.size, event.source) for event in given] == [("24.48", "page")]
    tab.click("summary")
    assert tab.is_visible("#skip")


def test_no_size_is_asked_for_at_a_cut(monitor: Look) -> None:
    """The entry is there only while a size is wanted."""
    tab = monitor.at("cut")
    assert tab.is_hidden("#typed") and tab.is_visible("#press") and tab.is_hidden("#skip")


def test_the_screen_is_kept_awake(browser: Any, shown: Shown) -> None:
    """Asked for when the page is opened, again when it is seen again, given back at the end."""
    context = browser.new_context()
    tab = context.new_page()
    tab.add_init_script(
        """window.asked = 0; window.freed = 0;
        const lock = { request: async kind => {
            window.asked += kind === 'screen';
            const held = { released: false, release: async () => { window.freed++; } };
            window.held = held; return held; } };
        Object.defineProperty(Navigator.prototype, 'wakeLock', { get: () => lock });"""
    )
    tab.goto(shown.page.address)
    tab.wait_for_function("window.asked === 1")
    # The browser takes it away when the page is out of sight (W3C, Screen Wake Lock API).
    tab.evaluate("held.released = true; document.dispatchEvent(new Event('visibilitychange'))")
    tab.wait_for_function("window.asked === 2")
    assert tab.is_hidden("#sleeps")
    shown.page.close()
    tab.wait_for_function("window.freed === 1")
    context.close()


def test_a_browser_that_can_not_is_told_of(browser: Any, shown: Shown) -> None:
    """Over a plain network no browser keeps the screen awake: the page says what to set."""
    context = browser.new_context()
    tab = context.new_page()
    tab.add_init_script(
        "Object.defineProperty(Navigator.prototype, 'wakeLock', { value: undefined })"
    )
    tab.goto(shown.page.address)
    tab.wait_for_selector("#sleeps", state="visible")
    context.close()


def test_what_is_missing_at_the_bench_is_on_the_page(monitor: Look) -> None:
    """Notes stand over everything: they name the cure."""
    monitor.page.notes = ["no pedal is set up: tallyhand setup"]
    tab = monitor.at("lock, first cut")
    assert tab.text_content("#notes") == "no pedal is set up: tallyhand setup"
    assert tab.is_visible("#notes")


def test_a_lock_is_never_called_off_after_a_break() -> None:
    """What the person did meanwhile is not known: neither locked nor off is claimed."""
    from assistant.engine.requests import lock_is
    from tests.page.kinds_of_step import programme

    work = programme("pinion")
    for step in (Step.PAUSED, Step.CHECK_POSITION, Step.LOCK, Step.CALL, Step.AT_PIN):
        assert lock_is(work, State(step=step, place=2, settled=2, done=2)) == ""
    assert lock_is(work, State(step=Step.INDEX, place=3, settled=2, done=3)) == "off"
