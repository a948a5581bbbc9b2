"""Readings told by voice: each is read back, any can be mended, and only the last word ends it."""

from __future__ import annotations

from assistant.engine.events import (
    Command,
    Device,
    DeviceLost,
    DeviceReturned,
    Event,
    PhraseHeard,
    SizeGiven,
    Source,
    TrustChanged,
)
from assistant.hearing.judging import TOO_LONG
from assistant.setup.readings_aloud import Taking
from tests.commands import one_line, tallyhand

THREE = Taking(("Tooth one.", "Tooth two.", "Tooth three."))


def spoken(size: str, unit: str = "") -> SizeGiven:
    return SizeGiven(0.0, size, Source.VOICE, unit)


def phrase(command: Command, accepted: bool = True) -> PhraseHeard:
    return PhraseHeard(0.0, command.value, command, 0.9, accepted)


def told(*events: Event | str, at: Taking = THREE) -> tuple[Taking, list[str]]:
    words = []
    for event in events:
        at, said = at.after(event)
        words.append(said)
    return at, words


def test_each_figure_is_read_back_before_the_next_is_asked_for() -> None:
    taking, words = told(spoken("0.15"), spoken("12"))
    assert words == ["Zero point one five. Tooth two.", "Twelve. Tooth three."]
    assert taking.given == ("0.15", "12") and not taking.over


def test_any_figure_is_taken_back_one_by_one() -> None:
    """Two steps back, and both are asked for anew; before the first there is nothing to take."""
    back = phrase(Command.GO_BACK)
    taking, words = told(spoken("1"), spoken("2"), spoken("3"), back, back, back, back)
    assert words[3:] == ["Taken back. Tooth three.", "Taken back. Tooth two.",
                         "Taken back. Tooth one.", "Tooth one."]  # fmt: skip
    assert taking.given == ()


def test_it_is_over_at_the_last_word_alone() -> None:
    """Not with the last figure, which might be wrong; nor is a fourth taken for a reading."""
    right = phrase(Command.SIZE_RIGHT)
    taking, words = told(spoken("1"), right, spoken("2"), spoken("3"), spoken("4"))
    assert words[1] == "Tooth two." and words[3].startswith("Three. That was the last one.")
    assert taking.given == ("1", "2", "3") and not taking.over
    assert told(phrase(Command.SIZE_RIGHT, accepted=False), at=taking)[0] == taking
    assert told(right, at=taking)[0].over
    assert told("", at=taking)[0].over


def test_what_is_not_understood_counts_for_nothing() -> None:
    taking, words = told(spoken("? four blue"), phrase(Command.CUT_DONE), spoken("NaN"), "x")
    assert taking == THREE
    assert words == ["I did not get that. Tooth one.", "", "I did not get that. Tooth one.",
                     "I did not get that. Tooth one."]  # fmt: skip


def test_one_who_was_not_heard_is_asked_again_and_talk_is_left_alone() -> None:
    talk = PhraseHeard(0.0, "", None, 0.1, False, TOO_LONG)
    unheard = PhraseHeard(0.0, "", None, 0.1, False, "none of the phrases")
    assert told(talk, unheard) == (THREE, ["", "I did not get that. Tooth one."])


def test_a_reading_in_another_unit_is_asked_for_again() -> None:
    """Thou among millimetres would be a tooth that is 25 times as far off."""
    taking, words = told(spoken("2", "thou"), spoken("0.1", "mm"), spoken("3"))
    assert taking.given == ("2", "3")
    assert words[1] == "All of them in one unit. Tooth two."


def test_the_keyboard_answers_beside_the_voice() -> None:
    """Typed figures may lie below nought; b goes back, r reads back."""
    taking, words = told("-3,5\n", "r\n", "2\n", "b\n")
    assert taking.given == ("-3.5",)
    assert words[:2] == ["Minus three point five. Tooth two."] * 2


def test_an_ear_that_is_away_or_drowned_is_told_and_nothing_is_lost() -> None:
    at, _ = told(spoken("1"))
    taking, words = told(
        TrustChanged(0.0, False),
        DeviceLost(0.0, Device.MICROPHONE, "unplugged"),
        DeviceReturned(0.0, Device.MICROPHONE),
        at=at,
    )
    assert taking == at
    assert words == [
        "Too loud here for figures to be heard: type them.",
        "I don't hear you: unplugged. Type the figures.",
        "I hear you again. Tooth two.",
    ]


def test_what_can_not_be_told_aloud_gets_a_line() -> None:
    """No number of teeth; a file beside it; a language whose figures are not understood."""
    assert "--teeth is missing" in one_line(tallyhand("inspect", "--voice"), 2)
    assert "one of them" in one_line(tallyhand("inspect", "x.txt", "--voice"), 2)
