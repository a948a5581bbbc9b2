"""The pedal: taught by pressing it."""

from __future__ import annotations

from assistant.devices.pedal.binding import Taught, pedal_file, read_taught, write_taught
from assistant.devices.pedal.teach import WAIT_S, learn_key
from assistant.errors import Refusal
from assistant.setup.program_voice import Voice
from assistant.setup.settings_text import SettingsText
from assistant.setup.talk import Talk


def choose_pedal(talk: Talk, file: SettingsText, voice: Voice) -> None:
    """Raises Left."""
    place = pedal_file(file.settings.file)
    try:
        before = read_taught(place)
    except Refusal as error:
        talk.show(str(error))
        before = None
    if before is not None:
        talk.show(f"The pedal is {taught_words(before)}.")
        if not talk.yes("Teach it anew?", False):
            return
    elif not talk.yes("Is there a foot pedal, plugged in?", False):
        talk.show("None for now: Enter on the keyboard does the same.")
        return
    while True:
        talk.tell(f"Press the pedal now, once. I wait {WAIT_S:g} seconds.")
        taught, why = learn_key()
        if taught is not None:
            break
        talk.show(f"No pedal: {why}.")
        if not talk.yes("Try again?", False):
            return
    write_taught(place, taught)
    talk.tell(f"The pedal is {taught_words(taught)}.")
    if taught.source == "x" and taught.types:
        talk.show("  An ordinary keyboard has this key too: it presses as the pedal does.")
    if file.settings.pedal.kind not in ("auto", taught.source):
        file.set("pedal", "kind", "auto")


def taught_words(taught: Taught) -> str:
    """ "key F13 of Bench Pedal"."""
    return f"key {taught.key} of {taught.device or 'any keyboard'}"
