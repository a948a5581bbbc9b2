"""Every sentence that the session says, in a machinist's words: short, numbers as spoken.

Whole turns come first, then holes; what is nought is not mentioned.
"""

from __future__ import annotations

from fractions import Fraction
from statistics import median

from assistant.events import Device, Trouble
from assistant.phases import Phase, Step, phase_of
from assistant.phrases import PHRASES
from assistant.programme import Programme
from assistant.spoken import capital, count, decimal, number
from assistant.state import State
from assistant.work.measuring import Measurement, Verdict
from assistant.work.units import length_from_text
from assistant.work.units import said as spoken_size
from solver import Move

_LOCKED_CUTS = "Spindle locked for every cut, lock off for every move."
_DRIVEN_CUTS = (
    "Lock off for every move, and off in the cuts where I say so: there the head is driven."
)


def _safety(locking: str) -> str:
    return (
        "Before we begin. I can't see your machine and I can't stop it: "
        "the emergency stop is on the machine. "
        "Guards on, eyes covered, no gloves, nothing loose. "
        f"{locking} "
        "Stop the cutter before you measure or reach over it. "
        "The machine's own manual, your local rules and your training come first."
    )


SAFETY = _safety(_LOCKED_CUTS)


def safety(programme: Programme) -> str:
    """Said at the start of every session."""
    driven = any(programme.stage(n).unlocked for n in range(programme.stages))
    return _safety(_DRIVEN_CUTS) if driven else SAFETY


# --- moves ------------------------------------------------------------------------------


def move_words(move: Move) -> str:
    """ "Four turns, then eight holes on the eighteen circle." """
    return capital(", then ".join(_move_parts(move))) + "."


def _move_parts(move: Move) -> list[str]:
    if move.direct_circle:
        holes = count(move.direct_holes or 0, "hole")
        return [f"{holes} on the direct plate of {number(move.direct_circle)}"]
    parts = [count(move.turns, "turn")] if move.turns else []
    if move.holes and move.circle:
        parts.append(f"{count(move.holes, 'hole')} on the {number(move.circle)} circle")
    if move.minutes:
        parts.append(_handwheel_words(Fraction(move.minutes)))
    if move.plate_holes and move.plate_circle:
        parts.append(_plate_words(move.plate_holes, move.plate_circle))
    return parts or ["no turn at all"]


def _handwheel_words(minutes: Fraction) -> str:
    degrees, rest = divmod(minutes, 60)
    said = [count(int(degrees), "degree")] if degrees else []
    if rest:
        said.append(f"{decimal(rest)} minute{'' if rest == 1 else 's'}")
    return " ".join(said) + " on the handwheel"


def _plate_words(holes: int, circle: int) -> str:
    way = "forward" if holes > 0 else "backward"
    return (
        f"plate and crank together {way}, {count(abs(holes), 'hole')} "
        f"on the {number(circle)} circle at the back pin"
    )


def move_figures(move: Move) -> str:
    """ "4 turns + 8 holes on 18": the move in figures, for the eye."""
    if move.direct_circle:
        return f"{move.direct_holes} of {move.direct_circle} direct"
    parts = [f"{move.turns} turn{'' if move.turns == 1 else 's'}"] if move.turns else []
    if move.holes:
        parts.append(f"{move.holes} hole{'' if move.holes == 1 else 's'} on {move.circle}")
    if move.minutes:
        degrees, minutes = divmod(Fraction(move.minutes), 60)
        parts.append(f"{degrees}° {float(minutes):g}′")
    if move.plate_holes:
        parts.append(f"plate {move.plate_holes:+d} on {move.plate_circle}")
    return " + ".join(parts) or "0 turns"


# --- where things stand -----------------------------------------------------------------


def position(programme: Programme, place: int) -> Fraction:
    """Turns of the spindle from the first cut, 0 or more and under 1."""
    return programme.positions[place]


def scale_words(programme: Programme, place: int) -> str:
    """What the degree scale should read, or "" where the head has none."""
    if not programme.scale_degrees:
        return ""
    degrees = position(programme, place) * 360
    if degrees == 0:
        return "The scale should be at its first reading."
    return f"The scale should read {decimal(degrees)} degree{'' if degrees == 1 else 's'}."


def scale_figures(programme: Programme, place: int) -> str:
    if not programme.scale_degrees:
        return ""
    return f"{float(round(position(programme, place) * 360, 1)):g}°"


def cut_words(programme: Programme, state: State) -> str:
    return f"cut {number(state.cut(programme))}"


def place_words(programme: Programme, place: int) -> str:
    """The hole of a position, named by the cut that is made there."""
    if place >= programme.cuts:
        return "the first hole again"
    return f"the hole of cut {number(place + 1)}"


def left_words(programme: Programme, state: State) -> str:
    left = programme.cuts - state.done
    more = programme.passes - state.pass_number
    rest = f" in this pass, then {count(more, 'more pass', 'more passes')}" if more else ""
    return f"{capital(number(left) if left else 'none')} left{rest}."


# --- questions: what each step asks -----------------------------------------------------


def question(programme: Programme, state: State) -> str:
    """The sentence that asks for what the present step waits for."""
    return _QUESTIONS[state.step](programme, state)


def _set_up(programme: Programme, state: State) -> str:
    items = programme.checklist
    words = f"Item {number(state.item + 1)} of {number(len(items))}. {items[state.item]}"
    if state.item == 0 and state.stage:
        words = f"Next, {programme.name or 'the next setting'}. {words}"
    if state.item == 0:
        words += f" Press, or say {phrase(Step.SET_UP)}."
    return words


def _hint(state: State, first: bool) -> str:
    """The first time round, the phrase that answers; afterwards only the question."""
    return f" Press, or say {phrase(state.step)}." if first and state.pass_number == 1 else ""


def _release(programme: Programme, state: State) -> str:
    counted = f"{capital(number(state.done))} done, {left_words(programme, state).lower()} "
    last = "One move left, back to the first hole. " if state.done == programme.cuts else ""
    return f"{counted}{last}Cutter clear, then lock off.{_first_move_hint(state)}"


def _first_move_hint(state: State) -> str:
    """The move itself is called bare, so its answer is told before the first one."""
    hint = _hint(state, state.done == 1)
    after = f" Then I call the move: pin in, and press, or say {phrase(Step.INDEX)}."
    return hint + after if hint else ""


def _free(_: Programme, __: State) -> str:
    return "Cutter clear. Take the lock off first."


def _index(programme: Programme, state: State) -> str:
    return move_words(programme.moves[state.place - 1])


def _back_off(_: Programme, state: State) -> str:
    return (
        f"Turn the crank back half a turn past the hole. Then press, or say {phrase(state.step)}."
    )


def _come_up(programme: Programme, state: State) -> str:
    return (
        f"Now come up in the working direction to {place_words(programme, state.place)}, "
        "and let the pin in."
    )


# Said so that it can be heard twice: arms that stand at the pin stay there.
_ARMS = "Swing the arms on to the pin. "


def _lock(programme: Programme, state: State) -> str:
    if state.place == 0:
        # In a later pass the pin has come on since the arms were last swung.
        arms = _ARMS if programme.arms_used and state.pass_number > 1 else ""
        return f"First hole, no move yet. {arms}Lock the spindle.{_hint(state, True)}"
    arms = _ARMS if programme.arms_used else ""
    scale = f"{scale_words(programme, state.place)} " if scale_is_due(programme, state) else ""
    return f"{arms}{scale.lstrip()}Lock the spindle."


def scale_is_due(programme: Programme, state: State) -> bool:
    """A miscounted turn shows on the scale: it is called after every move with whole turns.

    Unless the job says how often. Where a move has none, every third cut is enough
    (docs/decisions/505-where-to-look.md).
    """
    if state.place == programme.cuts - 1:
        return True
    if programme.scale_every:
        return state.place % programme.scale_every == 0
    return programme.moves[state.place - 1].turns > 0 or state.place % 3 == 0


def before_the_arms(programme: Programme) -> str:
    """Asked after a move, while the arms still lie as in it: nothing else shows a wrong hole."""
    return "Pin at the second arm? " if programme.arms_used else ""


def _leave_off(programme: Programme, state: State) -> str:
    arms = _ARMS if programme.arms_used and (state.place or state.pass_number > 1) else ""
    return (
        f"{arms}The head is driven in this cut: leave the spindle lock off, and the plate free. "
        f"Press, or say {phrase(state.step)}."
    )


def _guard(_: Programme, state: State) -> str:
    return f"Guard closed, hands clear?{_hint(state, state.done == 0)}"


def _cut(programme: Programme, state: State) -> str:
    parts = [f"{cut_words(programme, state)} of {number(programme.cuts)}"]
    if state.done < len(programme.labels) and programme.labels[state.done]:
        parts.append(programme.labels[state.done])
    if depth := depth_words(programme, state):
        parts.append(depth)
    return f"{capital(', '.join(parts))}.{_hint(state, state.done == 0)}"


def depth_words(programme: Programme, state: State) -> str:
    """How deep this cut goes; after a measurement, how much deeper than the pass before."""
    if state.size and state.measured and state.pass_number == programme.passes:
        taken = programme.measurements[state.measured - 1]
        depth = taken.left(Fraction(state.size), programme.unit).depth
        since = "the pass before" if taken.pass_number < state.pass_number else "before the size"
        if depth > 0 and not sideways(taken):
            return f"{spoken_size(depth, programme.unit)} deeper than {since}"
    if state.pass_number <= len(programme.depths):
        return f"{programme.depths[state.pass_number - 1]} deep"
    if not programme.depth:
        return ""
    return f"{spoken_size(*length_from_text(programme.depth))} deep"


def _measure(programme: Programme, state: State) -> str:
    wanted = programme.measurements[state.measured]
    return f"{wanted.question()} Or press to go on without it."


def _read_back(programme: Programme, state: State) -> str:
    wanted = programme.measurements[state.measured]
    size = Fraction(state.size)
    answer = wanted.answer(size, programme.unit)
    doubt = "" if answer.verdict in (Verdict.LEFT, Verdict.REACHED) else f" {answer.text}"
    return (
        f"{capital(spoken_size(size, programme.unit))}.{doubt} If you measured that, press, "
        f"or say {phrase(state.step)}. If not, give the size again."
    )


def left_to_cut(programme: Programme, state: State) -> str:
    """What the size just confirmed means for the depth."""
    taken = programme.measurements[state.measured - 1]
    answer = taken.left(Fraction(state.size), programme.unit)
    if answer.verdict is not Verdict.LEFT or taken.pass_number < programme.passes:
        return answer.text
    # The last pass has no other after it: this cut is still locked and can be cut again now.
    return f"{answer.text} Set it, and cut this one again before the lock comes off."


def sideways(wanted: Measurement) -> bool:
    """What is left is a move of the table across, not a depth."""
    return "across" in wanted.remainder


def _closing_check(programme: Programme, state: State) -> str:
    if not programme.closed:
        return _end_of_open(programme, state)
    scale = scale_words(programme, programme.cuts)
    return (
        f"All the way round. The pin should be in its first hole.{' ' + scale if scale else ''} "
        f"If so press, or say {phrase(Step.CLOSING_CHECK)}. If not, a count went wrong: "
        "say lost my count."
    )


def _end_of_open(programme: Programme, state: State) -> str:
    more = state.pass_number < programme.passes or programme.then is not None
    back = "Lock off, wind back past the first cut, and come up to it again. " if more else ""
    return f"That was the last cut. Cutter clear. {back}Press, or say {phrase(Step.CLOSING_CHECK)}."


def _finished(programme: Programme, _: State) -> str:
    passes = f" in {number(programme.passes)} passes" if programme.passes > 1 else ""
    return (
        f"Finished. {capital(count(programme.cuts, 'cut'))}{passes}. "
        "Stop the cutter before you reach for the work."
    )


def _paused(programme: Programme, state: State) -> str:
    return (
        f"Paused at {cut_words(programme, state)}. Stop the cutter. "
        f"When you are back, press, or say {phrase(Step.PAUSED)}."
    )


def _check_position(programme: Programme, state: State) -> str:
    counted = f"{capital(count(state.done, 'cut'))} counted as done."
    place = place_words(programme, state.settled)
    scale = scale_words(programme, state.settled)
    arms = _ARMS if programme.arms_used else ""
    # The scale tells turns, not holes; the cutter in its own cut tells both.
    at_last_cut = 0 < state.done == state.settled + 1
    proof = "Try the stopped cutter in the last cut. " if at_last_cut else ""
    return (
        f"Check the position. {counted} Last certain place: {place}. {scale} "
        "Cutter clear, lock off, and bring the pin to that hole in the working direction. "
        f"{proof}{arms}When it is there, press, or say {phrase(Step.CHECK_POSITION)}."
    ).replace("  ", " ")


_QUESTIONS = {
    Step.SET_UP: _set_up,
    Step.RELEASE: _release,
    Step.FREE: _free,
    Step.INDEX: _index,
    Step.BACK_OFF: _back_off,
    Step.COME_UP: _come_up,
    Step.LOCK: _lock,
    Step.LEAVE_OFF: _leave_off,
    Step.GUARD: _guard,
    Step.CUT: _cut,
    Step.MEASURE: _measure,
    Step.READ_BACK: _read_back,
    Step.CLOSING_CHECK: _closing_check,
    Step.FINISHED: _finished,
    Step.PAUSED: _paused,
    Step.CHECK_POSITION: _check_position,
}


def phrase(step: Step) -> str:
    """The phrase that answers this step's question."""
    from assistant.phases import ANSWERS

    return PHRASES[ANSWERS[step]][0]


# --- what is awaited, in a few words ----------------------------------------------------

_AWAITED = {
    Step.SET_UP: "the set-up item",
    Step.RELEASE: "the lock off",
    Step.FREE: "the lock off",
    Step.INDEX: "the move, and the pin in its hole",
    Step.BACK_OFF: "half a turn back",
    Step.COME_UP: "the pin in its hole",
    Step.LOCK: "the spindle lock on",
    Step.LEAVE_OFF: "the lock left off",
    Step.GUARD: "the guard closed and your hands clear",
    Step.CUT: "the cut done and the cutter clear",
    Step.MEASURE: "the size",
    Step.READ_BACK: "the size to be confirmed",
    Step.CLOSING_CHECK: "the pin back in its first hole",
    Step.FINISHED: "nothing: the job is finished",
    Step.PAUSED: "you, to carry on",
    Step.CHECK_POSITION: "the position to be certain",
}


def awaited(step: Step) -> str:
    return _AWAITED[step]


# --- answers to what the person asks ----------------------------------------------------


def where(programme: Programme, state: State) -> str:
    """Phase, cut, what stands, what is awaited."""
    if state.step is Step.FINISHED:
        return question(programme, state)
    passes = f", pass {number(state.pass_number)}" if programme.passes > 1 else ""
    place = place_words(programme, state.settled)
    return (
        f"{capital(cut_words(programme, state))} of {number(programme.cuts)}{passes}. "
        f"{capital(number(state.done))} done. Last certain place: {place}. "
        f"{scale_words(programme, state.settled)} I wait for {awaited(state.step)}."
    ).replace("  ", " ")


def what_next(programme: Programme, state: State) -> str:
    """What is awaited now and what follows. The figures of a move are never given here:
    they are called only when the lock is off."""
    after = {
        Step.RELEASE: "then I call the move",
        Step.INDEX: "then the lock",
        Step.COME_UP: "then the lock",
        Step.LOCK: "then the guard",
        Step.LEAVE_OFF: "then the guard",
        Step.GUARD: f"then {cut_words(programme, state)}",
        Step.CUT: "then the lock comes off for the next move",
    }.get(state.step)
    return f"Now {awaited(state.step)}{', ' + after if after else ''}."


def note_taken(state: State) -> str:
    return f"Note {number(state.notes)} taken."


def how_many_left(programme: Programme, state: State) -> str:
    return left_words(programme, state) + time_words(programme, state)


def time_words(programme: Programme, state: State) -> str:
    """The time that is left in this pass, by the pace of the last cuts; "" before three."""
    if len(state.pace) < 3 or state.done >= programme.cuts:
        return ""
    seconds = median(state.pace) * (programme.cuts - state.done)
    if seconds < 90:
        return " About one minute at this pace."
    return f" About {count(round(seconds / 60), 'minute')} at this pace."


def no_size(given: str) -> str:
    return f"{given[:20]} is no size. Give it in figures, like nineteen point zero five."


# --- refusals ---------------------------------------------------------------------------


def not_now(programme: Programme, state: State) -> str:
    if state.step is Step.FINISHED:
        return "Not now. The job is finished."
    return f"Not now. I wait for {awaited(state.step)}."


def too_soon(programme: Programme, state: State) -> str:
    """The press came before the question could be heard: the question once more."""
    return f"Too soon. {question(programme, state)}"


def no_way_back(programme: Programme, state: State) -> str:
    if state.step in (Step.RELEASE, Step.FREE) and state.done:
        return (
            f"Cut {number(state.done)} is counted and stays counted. "
            "If it was not cut, cut it now, before the lock comes off."
        )
    return f"There is nothing to go back to from here. I wait for {awaited(state.step)}."


def no_move_yet(_: Programme, __: State) -> str:
    return "No move has been made yet, so no hole was passed."


def not_sure(heard: str) -> str:
    return f"I am not sure that I heard {heard}. Say it again, or press."


# --- devices ----------------------------------------------------------------------------

_MEND = "To mend it, run tallyhand doctor."
_LOSS = {
    Device.MICROPHONE: f"The microphone is gone. Use the pedal or the keyboard. {_MEND}",
    Device.EAR: f"I can't hear commands now. Use the pedal or the keyboard. {_MEND}",
    Device.SPEAKER: f"The speaker is gone. Read the screen. {_MEND}",
    Device.PEDAL: f"The pedal is gone. Use your voice or the keyboard. {_MEND}",
    Device.KEYBOARD: "The keyboard is gone. Use the pedal or your voice.",
    Device.DISPLAY: "The screen is gone. Listen, or look at the bench page.",
    Device.PAGE: "The bench page is gone. Listen, or look at the terminal.",
}


def lost(device: Device) -> str:
    return _LOSS[device]


_TROUBLE = {
    Trouble.STUCK: "The {} stays down. Look what lies on it; it answers nothing until it is up.",
    Trouble.CHATTERING: "The {} chatters. Look at its contact; answer another way.",
    Trouble.LEANED_ON: "Something leans on the {}. I take no answer from it until it is quiet.",
}


def troubled(device: Device, trouble: Trouble) -> str:
    return _TROUBLE[trouble].format(device.value)


def returned(device: Device) -> str:
    name = "ear" if device is Device.EAR else device.value
    return f"The {name} is back."


_METHODS = {
    "direct": "by direct indexing",
    "plain": "by plain indexing",
    "compound": "by compound indexing",
    "differential": "by differential indexing",
    "nearest": "each to the nearest hole",
}


def greeting(programme: Programme) -> str:
    passes = f", {count(programme.passes, 'pass', 'passes')}" if programme.passes > 1 else ""
    cuts = capital(count(programme.cuts, "cut"))
    return f"{programme.title}. {cuts}{passes}, {_METHODS[programme.method]}."


def welcome_back(programme: Programme) -> str:
    return f"Back with {programme.title}."


def phase_name(state: State) -> Phase:
    return phase_of(state.step)
