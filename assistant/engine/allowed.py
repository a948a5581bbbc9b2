"""What may answer for lock and guard, as the person chose."""

from __future__ import annotations

from assistant.engine.events import Device, Source
from assistant.engine.phases import Phase, Step, phase_of
from assistant.engine.state import State
from assistant.job.programme import Programme

_EARS = {Device.EAR, Device.MICROPHONE}


def is_for_lock_or_guard(state: State) -> bool:
    """The present question is one whose answer stands for lock or guard."""
    return state.step is not Step.PAUSED and phase_of(state.step) in (Phase.LOCK, Phase.GUARD)


def may_answer(programme: Programme, state: State, source: Source) -> bool:
    """Whether an answer from there counts, by what the person chose for lock and guard.

    Keys and page count with the pedal. Where only the voice is allowed and nobody hears it,
    all others serve in its place: nobody is shut out of a job.
    """
    if programme.answers.lock_and_guard == "pedal":
        return source != Source.VOICE
    if programme.answers.lock_and_guard == "voice":
        unheard = state.deaf or state.too_loud or bool(_EARS & set(state.lost))
        return source == Source.VOICE or unheard
    return True
