"""The pedal: taught by pressing it."""

from __future__ import annotations

from assistant.devices.pedal.binding import KeyBinding, pedal_file, read_binding, write_binding
from assistant.devices.pedal.teach import WAIT_S, learn_key
from assistant.errors import Refusal
from assistant.setup.program_voice import Voice
from assistant.setup.settings_text import SettingsText
from assistant.setup.talk import Talk


def choose_pedal(talk: Talk, file: SettingsText, voice: Voice) -> None:
    """Raises Left."""
    place = pedal_file(file.settings.file)
    try:
        before = read_binding(place)
    except Refusal as error:
        talk.show(str(error))
        before = None
    if before is not None:
        talk.show(f"The pedal is {binding_words(before)}.")
        if not talk.yes("Teach it anew?", False):
            return
    elif not talk.yes("Is there a foot pedal, plugged in?", False):
        talk.show("None for now: Enter on the keyboard does the same.")
        return
    while True:
        talk.tell(f"Press the pedal now, once. I wait {WAIT_S:g} seconds.")
        binding, why = learn_key()
        if binding is not None:
            break
        talk.show(f"No pedal: {why}.")
        if not talk.yes("Try again?", False):
            return
    write_binding(place, binding)
    talk.tell(f"The pedal is {binding_words(binding)}.")
    if binding.source == "x" and binding.types:
        talk.show("  An ordinary keyboard has this key too: it presses as the pedal does.")
    if file.settings.pedal.kind not in ("auto", binding.source):
        file.set("pedal", "kind", "auto")


def binding_words(binding: KeyBinding) -> str:
    """ "key F13 of Bench Pedal"."""
    return f"key {binding.key} of {binding.device or 'any keyboard'}"
