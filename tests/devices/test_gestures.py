"""The pedal's gestures. The times are those of the product's own specification."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.devices.pedal.gestures import (
    AGAIN_S,
    BOUNCE_S,
    HOLD_S,
    LONG_HOLD_S,
    SECOND_PRESS_S,
    SHORT_HOLD_S,
    Gestures,
    Manner,
)
from assistant.engine.events import Gesture

PRESS, DOUBLE, HOLD = Gesture.PRESS, Gesture.DOUBLE, Gesture.HOLD
SHORT_HOLD = Gesture.SHORT_HOLD
Contact = tuple[float, float]  # how long down, how long up after it


def play(
    contacts: list[Contact], repeats: bool = False, manner: Manner = Manner.DOUBLE
) -> list[Gesture]:
    """All gestures of a series of contacts, long after the last one."""
    gestures, now, told = Gestures(manner), 0.0, []
    for down, up in contacts:
        told += gestures.down(now)
        if repeats:  # a held key repeats its "down"
            for n in range(1, int(down / 0.04)):
                told += gestures.down(now + 0.04 * n)
        told += gestures.up(now + down)
        now += down + up
    return told + gestures.tick(now + 10)


def test_one_press_is_told_when_no_second_one_follows() -> None:
    """A press is told 0.35 s after its release, not before."""
    gestures = Gestures()
    told = gestures.down(0) + gestures.up(0.1) + gestures.tick(0.1 + SECOND_PRESS_S - 0.01)
    assert told == []
    assert gestures.tick(0.1 + SECOND_PRESS_S) == [PRESS]
    assert gestures.next_deadline() is None


def test_a_hold_is_told_while_the_foot_is_down_and_once() -> None:
    """At 0.8 s, and the release says nothing more."""
    gestures = Gestures()
    assert gestures.down(0) + gestures.tick(HOLD_S - 0.01) == []
    assert gestures.tick(HOLD_S) == [HOLD]
    assert gestures.tick(5) + gestures.up(6) + gestures.tick(9) == []


def test_a_hold_told_late_is_still_a_hold() -> None:
    """If nobody ticked meanwhile, the release brings it out."""
    gestures = Gestures()
    assert gestures.down(0) + gestures.up(2) == [HOLD]


def test_two_presses_are_a_double_and_three_no_more() -> None:
    """Frantic stamping must not confirm anything."""
    quick = (0.1, 0.15)
    assert play([quick, quick]) == [DOUBLE]
    assert play([quick] * 3) == [DOUBLE]
    assert play([quick] * 6) == [DOUBLE]


def test_a_press_and_then_a_hold_confirm_nothing() -> None:
    """The second one held: a hold, and the first press is dropped."""
    assert play([(0.1, 0.1), (1.5, 1)]) == [HOLD]


def test_slow_presses_are_single_ones() -> None:
    """Two presses further apart than the limit are two answers."""
    assert play([(0.1, 0.5), (0.1, 0.5)]) == [PRESS, PRESS]


def test_the_time_of_the_press_is_when_the_foot_went_down() -> None:
    """Bounces and the wait for a second press do not move it."""
    gestures = Gestures()
    for at, edge in ((1.0, True), (1.005, False), (1.009, True), (1.2, False)):
        (gestures.down if edge else gestures.up)(at)
    assert gestures.tick(2) == [PRESS]
    assert gestures.pressed_at == 1.009


@given(st.lists(st.floats(0.0005, BOUNCE_S - 0.001), min_size=1, max_size=40))
def test_a_contact_shorter_than_a_bounce_is_no_press(lengths: list[float]) -> None:
    """Electrical noise of any pattern does nothing, so long as each contact is short."""
    assert play([(down, 0.05) for down in lengths]) == []


@given(
    st.lists(st.tuples(st.floats(0.05, 0.7), st.floats(0.4, 3.0)), max_size=8),
    st.lists(st.floats(0.001, 0.02), max_size=6),
    st.booleans(),
)
def test_bounce_and_repeat_change_nothing(
    contacts: list[Contact], bounces: list[float], repeats: bool
) -> None:
    """Whatever a worn contact does in its first 30 ms, the presses are counted right."""
    gestures, now, told = Gestures(), 0.0, []
    for down, up in contacts:
        at = now
        for bounce in bounces:
            told += gestures.down(at) + gestures.up(at + bounce / 12)
            at += bounce / 6
        told += gestures.down(at)
        if repeats:
            told += gestures.down(at + down / 2)
        told += gestures.up(at + down)
        now = at + down + up
    assert told + gestures.tick(now + 10) == [PRESS] * len(contacts)


@given(
    st.lists(st.tuples(st.floats(0.05, 2.0), st.floats(0.05, 1.0)), max_size=8),
    st.lists(st.floats(0.01, 20), max_size=30),
)
def test_ticks_at_any_time_change_nothing(contacts: list[Contact], ticks: list[float]) -> None:
    """The gestures depend on the edges only, not on how often somebody looks."""
    edges, now = [], 0.0
    for down, up in contacts:
        edges += [(now, "down"), (now + down, "up")]
        now += down + up
    gestures, told = Gestures(), []
    for at, what in sorted([*edges, *((t, "tick") for t in ticks)]):
        told += getattr(gestures, what)(at)
    assert told + gestures.tick(now + 50) == play(contacts)


@given(st.lists(st.tuples(st.booleans(), st.floats(-1, 10)), max_size=40))
def test_a_clock_that_runs_backwards_breaks_nothing(edges: list[tuple[bool, float]]) -> None:
    """It is taken as standing still, and all is at rest in the end."""
    gestures, steady = Gestures(), Gestures()
    latest = -1.0
    for down, at in edges:
        latest = max(latest, at)
        one = (gestures.down if down else gestures.up)(at)
        other = (steady.down if down else steady.up)(latest)
        assert one == other
    gestures.up(100)
    gestures.tick(200)
    assert gestures.next_deadline() is None


def test_for_how_long_the_contact_had_not_moved() -> None:
    """What is too short to be told, or told as something else, stirs it all the same; a contact
    that bounces as it closes is one movement."""
    gestures = Gestures(watched_since=100.0)
    gestures.down(140.0), gestures.up(140.005), gestures.down(140.012)
    gestures.up(140.2)
    assert gestures.tick(141.0) == [Gesture.PRESS]
    assert gestures.still == 40.0
    gestures.down(149.0), gestures.up(149.01)
    gestures.down(150.0), gestures.up(150.2)
    assert gestures.tick(151.0) == [Gesture.PRESS]
    assert gestures.still == pytest.approx(0.99)


# --- the manner of holds: no press waits --------------------------------------------------


def test_a_press_is_told_as_the_foot_comes_up() -> None:
    """As soon as its contact has settled, and once."""
    gestures = Gestures(Manner.HOLD)
    assert gestures.down(0) + gestures.up(0.1) + gestures.tick(0.1 + BOUNCE_S - 0.001) == []
    assert gestures.tick(0.1 + BOUNCE_S) == [PRESS]
    assert gestures.pressed_at == 0
    assert gestures.tick(20) == [] and gestures.next_deadline() is None


def test_how_long_it_is_held_says_what_it_means() -> None:
    """Short of the first limit the answer; up to the second say again; from there the pause, told
    while the foot is still down."""
    lengths = (0.05, SHORT_HOLD_S - 0.01, SHORT_HOLD_S, LONG_HOLD_S - 0.01, LONG_HOLD_S, 3)
    told = [play([(length, 2)], manner=Manner.HOLD) for length in lengths]
    assert told == [[PRESS], [PRESS], [SHORT_HOLD], [SHORT_HOLD], [HOLD], [HOLD]]
    gestures = Gestures(Manner.HOLD)
    assert gestures.down(0) + gestures.tick(LONG_HOLD_S - 0.01) == []
    assert gestures.tick(LONG_HOLD_S) == [HOLD]
    assert gestures.tick(5) + gestures.up(6) + gestures.tick(9) == []


@pytest.mark.parametrize(
    ("manner", "pressed", "held"),
    [(Manner.SECOND, SHORT_HOLD, HOLD), (Manner.SECOND_PAUSES, HOLD, SHORT_HOLD)],
)
def test_a_second_pedal_answers_nothing(manner: Manner, pressed: Gesture, held: Gesture) -> None:
    """However it is pressed and held, quick or slow: no press and no double comes of it."""
    assert play([(0.05, 2), (HOLD_S - 0.01, 2)], manner=manner) == [pressed] * 2
    assert play([(HOLD_S, 2), (4, 2)], manner=manner) == [held] * 2
    assert play([(0.1, 0.1)] * 5, manner=manner) == [pressed] * 5
    gestures = Gestures(manner)
    assert gestures.down(0) + gestures.up(0.1) + gestures.tick(0.1 + BOUNCE_S) == [pressed]


def test_a_quick_press_behind_another_answers_nothing() -> None:
    """Who is used to two presses, and who stamps, hears the question again; never two answers."""
    quick = (0.1, 0.15)
    assert play([quick] * 2, manner=Manner.HOLD) == [PRESS, DOUBLE]
    assert play([quick] * 6, manner=Manner.HOLD) == [PRESS, *[DOUBLE] * 5]
    assert play([(0.1, AGAIN_S - 0.01)] * 3, manner=Manner.HOLD) == [PRESS, DOUBLE, DOUBLE]
    assert play([(0.1, AGAIN_S + 0.01)] * 3, manner=Manner.HOLD) == [PRESS] * 3


@given(st.lists(st.tuples(st.floats(0.0005, 3), st.floats(0.0005, 3)), max_size=30))
def test_two_answers_are_never_closer_than_a_foot_can_mean(contacts: list[Contact]) -> None:
    """Whatever a contact does: between two answers it was open for AGAIN_S."""
    gestures, now, last_up = Gestures(Manner.HOLD), 0.0, float("-inf")
    for down, up in contacts:
        told = gestures.down(now)
        told += gestures.up(now + down)
        now += down + up
        told += gestures.tick(now)
        for gesture in told:
            if gesture is PRESS:
                assert gestures.pressed_at - last_up >= AGAIN_S - 1e-9
        if told:
            last_up = now - up
