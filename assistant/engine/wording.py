"""Every sentence that the session says, in a machinist's words: short, numbers as spoken.

Whole turns come first, then holes; what is nought is not mentioned. A sentence is one text
with {parts}, so that another language can order it its own way (`assistant.words.language`).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from statistics import median

from assistant.engine import block_words
from assistant.engine.allowed import is_for_lock_or_guard, may_answer
from assistant.engine.asked import Act, Command, Intent, key_of
from assistant.engine.calling import (
    after_the_size,
    begins_off_mark,
    by_handwheel,
    by_voice,
    holes_past_mark,
    is_set,
    listened_to,
    marks_anew,
    own_depth,
    position,
    scale_is_due,
)
from assistant.engine.events import Device, Source, Trouble
from assistant.engine.marked_hole import look_is_due
from assistant.engine.pace import is_brief, is_reminder
from assistant.engine.phases import ANSWERS, Step
from assistant.engine.phrases import phrase_for
from assistant.engine.state import (
    State,
    last_cut_of_open,
    more_follows,
    part_is_made,
    replace,
    short,
    size_is_due,
    spoilt_of_a_batch,
    trial_offered,
)
from assistant.job.limits import called_finely
from assistant.job.measuring import Measurement, SizeVerdict
from assistant.job.programme import Programme
from assistant.job.units import millimetres_from_text
from assistant.job.units import said as spoken_size
from assistant.words import short_moves
from assistant.words.language import mark, say, say_n
from assistant.words.moves import arc_words, move_phrase, move_words
from assistant.words.spoken import capital, decimal, number, sentences
from solver import Millimetres, Turns, in_arc_minutes


def safety(programme: Programme) -> str:
    """Said at the start of every session."""
    driven = any(programme.stage(n).unlocked for n in range(programme.stages))
    return _safety(driven, block=block_words.by_block(programme))


def _safety(driven: bool, block: bool = False) -> str:
    return sentences(
        say("Before we begin. I can't see your machine and I can't stop it: "
            "the emergency stop is on the machine."),
        say("Guards on, eyes covered, no gloves, nothing loose."),
        say("Vice tight for every cut, cutter stopped before your hand goes to the block.")
        if block
        else say("Lock off for every move, and off in the cuts where the head is driven: "
            "I call those.")
        if driven
        else say("Spindle locked for every cut, lock off for every move."),
        say("Stop the cutter before you measure or reach over it."),
        say("The machine's own manual, your local rules and your training come first."),
    )  # fmt: skip


SAFETY = _safety(driven=False)


# --- where things stand -----------------------------------------------------------------


def scale_words(programme: Programme, place: int) -> str:
    """What the degree scale should read, or "" where the head has none."""
    if not programme.scale_degrees:
        return ""
    degrees = position(programme, place) * 360
    if degrees == 0:
        return say("The scale should be at its first reading.")
    if degrees == 1:
        return say("The scale should read one degree.")
    return say("The scale should read {degrees} degrees.", degrees=decimal(degrees))


def _degrees(programme: Programme, place: int) -> str:
    return decimal(position(programme, place) * 360)


def scale_figures(programme: Programme, place: int) -> str:
    """What the spindle's degree scale should read at that place; "" on a head without one."""
    if not programme.scale_degrees:
        return ""
    return f"{float(round(position(programme, place) * 360, 1)):g}°"


def place_words(programme: Programme, place: int) -> str:
    """The hole of a position, named by the cut that is made there; a dial by its reading."""
    if by_handwheel(programme):
        return reading_words(programme, place)
    if block_words.by_block(programme):
        return block_words.face_words(programme, place)
    if place >= programme.cuts and begins_off_mark(programme):
        return say("the hole of cut {n}", n=number(1))
    if place >= programme.cuts:
        again = not marks_anew(programme)
        return say("the first hole again") if again else say("the last hole of the round")
    return say("the hole of cut {n}", n=number(place + 1))


def left_words(programme: Programme, state: State) -> str:
    """How many cuts are left in this pass, and how many passes after it."""
    left = state.due(programme) - state.done
    more = programme.passes - state.pass_number
    if not more:
        words = say("{n} left.", n=number(left)) if left else say("None left.")
    elif left:
        words = say(
            "{n} left in this pass, then {passes}.", n=number(left), passes=_more_passes(more)
        )
    else:
        words = say("None left in this pass, then {passes}.", passes=_more_passes(more))
    return capital(words)


def _more_passes(more: int) -> str:
    return say_n(more, "one more pass", "{count} more passes")


def cuts_words(cuts: int) -> str:
    """So many cuts, counted in words."""
    return say_n(cuts, "one cut", "{count} cuts")


def part_words(programme: Programme, state: State) -> str:
    """Which part of the batch is in hand; "" for a single part."""
    if programme.parts == 1:
        return ""
    return say("Part {n} of {total}.", n=number(state.part), total=number(programme.parts))


def _more_parts(programme: Programme, state: State) -> str:
    more = programme.parts - state.part
    return say_n(more, "Then one more part.", "Then {count} more parts.") if more else ""


# --- questions: what each step asks -----------------------------------------------------


def question(programme: Programme, state: State) -> str:
    """What asks for what the present step waits for, and how to answer where that is told."""
    return sentences(asked_alone(programme, state), _told_with_it(programme, state))


def asked_alone(programme: Programme, state: State) -> str:
    """The question without how to answer it, which may be answered before it is heard out."""
    return _QUESTIONS[state.step](programme, state)


def _told_with_it(programme: Programme, state: State) -> str:
    """How to answer for lock, guard and cut: at the first of them, where all is said."""
    match state.step:
        case Step.LEAVE_OFF:
            told = True
        case Step.LOCK:
            told = state.place == 0 and not state.recut and _is_new(state)
        case Step.GUARD | Step.CUT:
            few = _in_few_words(programme, state) or state.doubted
            told = state.done == 0 and not few and _is_new(state)
        case _:
            told = False
    return how_to_answer(programme, state) if told else ""


def _is_new(state: State) -> bool:
    """The person has made no pass of this job yet."""
    return state.pass_number == 1 and state.part == 1


def _answer_by(state: State, spoken: str, pressed: str) -> str:
    """How to answer: by the phrase too, unless nobody listens for it."""
    if by_voice(state):
        return say(spoken, phrase=phrase(state.step))
    return say(pressed)


def _press_or_say(state: State) -> str:
    return _answer_by(state, mark("Press, or say {phrase}."), mark("Press."))


def how_to_answer(programme: Programme, state: State) -> str:
    """What a question ends with where the answer is told with it: only what would count."""
    if not is_for_lock_or_guard(state):
        return _press_or_say(state)
    if not may_answer(programme, state, Source.VOICE):
        return say("Press.")
    if not may_answer(programme, state, Source.KEYBOARD):
        return say("Say {phrase}.", phrase=phrase(state.step))
    return _press_or_say(state)


def _ask_by(state: State, command: Command, spoken: str, typed: str) -> str:
    """How to ask for what no press means."""
    if listened_to(state):
        return say(spoken, phrase=phrase_for(command))
    return say(typed, key=key_of(command))


def _set_up(programme: Programme, state: State) -> str:
    if state.astray:
        return _left_on_the_way(programme, state)
    items = programme.items(state.part)
    item = say("Item {n} of {total}.", n=number(state.item + 1), total=number(len(items)))
    if state.item:
        offer = _or_called(state) if trial_offered(programme, state) else ""
        return sentences(item, items[state.item], offer)
    if state.part > 1 and not state.stage:
        return sentences(part_words(programme, state), item, items[0])
    before = ""
    if state.stage:
        name = programme.name or say("the next setting")
        before = say("Next, {stage}.", stage=name)
    return sentences(before, item, items[0], _press_or_say(state))


def item_words(programme: Programme, state: State) -> str:
    """What the present item of the set-up asks for, for the eye."""
    if state.astray:
        return back_to_first(programme)
    return programme.items(state.part)[state.item]


def _left_on_the_way(programme: Programme, state: State) -> str:
    """Nothing may begin from the hole in which a trial round was left."""
    scale = programme.scale_degrees and not by_handwheel(programme)
    return sentences(
        say("The trial round is left."),
        back_to_first(programme),
        say("Degree scale at its first reading.") if scale else "",
        _arms(programme.arms_used),
        _press_or_say(state),
    )


def back_to_first(programme: Programme) -> str:
    """The way back to where the first cut is made, before anything is cut."""
    if block_words.by_block(programme):
        return say("Block down on its parallel, end to the stop, face one up. Vice tight.")
    if by_handwheel(programme):
        return say("Lock off. Table and dial at nought, come up to in the working direction.")
    if marks_anew(programme):  # once round, the marked hole is not at the first cut any more
        return say(
            "Lock off. Wind back to the first cut: pin in the marked hole, come up to in the "
            "working direction."
        )
    return say("Lock off. Pin in the marked hole, come up to in the working direction.")


def _or_called(state: State) -> str:
    """The trial round is the person's own to make, to leave out, or to have called."""
    asked = replace(state, step=Step.TRIAL_CLEAR)
    if listened_to(state):
        called = say("Then say {phrase}.", phrase=phrase(asked.step))
    else:
        called = say("Then key {key}.", key=key_of(Act.TRIAL))
    return sentences(
        say("I can call the round: stop the cutter, clear of the work, lock off."),
        called,
        _by_foot(state),
        say("If it is made, or left out, press."),
    )


def _by_foot(state: State) -> str:
    """What of a pedal calls the round. A second, since half of one comes out as a press at times,
    and a press says that the round is made."""
    if Device.PEDAL in state.lost:
        return ""
    if state.foot == "second":
        return say("Or press the second pedal.")
    return say("Or hold the pedal for one second.") if state.foot == "hold" else ""


def _trial_clear(programme: Programme, state: State) -> str:
    here = say("At the first hole.")
    if state.settled or block_words.by_block(programme):
        here = say("At {place}.", place=place_words(programme, state.settled))
    clear = say("Trial round. Cutter stopped and clear, lock off.")
    if block_words.by_block(programme):
        clear = say("Trial round. Cutter stopped and clear, vice open.")
    return sentences(clear, here, _press_or_say(state))


def _trial_move(programme: Programme, state: State) -> str:
    """The place by its number, then the move: what the hand needs comes last."""
    place, move = state.place, programme.moves[state.place - 1]
    n, total = number(place + 1), number(programme.cuts)
    to = say("Place {n} of {total}.", n=n, total=total)
    first = sentences(_mark_this(programme), _mark_by_hand(state)) if place == 1 else ""
    if place == programme.cuts:
        to = say("Back to nought.") if by_handwheel(programme) else say("Back to the first hole.")
        if marks_anew(programme):
            to = say("Back to place one.")
        if block_words.by_block(programme):
            to = say("Back to face one.")
    arms = _arms(programme.arms_used) if place == 1 else say("Arms.") if programme.arms_used else ""
    brief = short_moves.brief_phrase(move) if place > 1 else ""
    called = capital(say("{move}.", move=brief)) if brief else _called(programme, place)
    return sentences(
        first,
        to,
        called,
        beyond_the_arms(programme, place),
        _reading(programme, place),
        scale_words(programme, place) if scale_is_due(programme, state) else "",
        arms,
    )


def _mark_by_hand(state: State) -> str:
    """Told before the first move alone. With the cutter stopped no guard need be shut."""
    leave = say("To leave the round, key {key}.", key=key_of(Act.TRIAL))
    if listened_to(state):
        leave = say("To leave the round, say {phrase}.", phrase=phrase_for(Command.CHECKED))
    return sentences(
        say("The cutter stays stopped. At each place make a mark by hand where it stands."),
        _answer_by(
            replace(state, step=Step.TRIAL_MOVE),
            mark("After each move press, or say {phrase}."),
            mark("After each move press."),
        ),
        leave,
    )


def _hint(programme: Programme, state: State, first: bool) -> str:
    """The first time round, the phrase that answers; afterwards only the question."""
    return how_to_answer(programme, state) if first and _is_new(state) else ""


def _release(programme: Programme, state: State) -> str:
    last = state.done == programme.cuts
    return sentences(
        _tally(programme, state),
        _last_move(programme) if last else "",
        block_words.release_asked()
        if block_words.by_block(programme)
        else say("Cutter clear, then lock off."),
        _first_move_hint(programme, state),
    )


def _tally(programme: Programme, state: State) -> str:
    """ "Four done, five left." """
    left, more = state.due(programme) - state.done, programme.passes - state.pass_number
    more, done = max(more, 0), number(state.done)
    if not more and not left:
        return capital(say("{done} done, none left.", done=done))
    if not more:
        return capital(say("{done} done, {left} left.", done=done, left=number(left)))
    if not left:
        words = say(
            "{done} done, none left in this pass, then {passes}.",
            done=done, passes=_more_passes(more),
        )  # fmt: skip
        return capital(words)
    words = say(
        "{done} done, {left} left in this pass, then {passes}.",
        done=done, left=number(left), passes=_more_passes(more),
    )  # fmt: skip
    return capital(words)


def _first_move_hint(programme: Programme, state: State) -> str:
    """The move itself is called bare, so its answer is told before the first one."""
    hint = _hint(programme, state, state.done == 1)
    if not hint:
        return ""
    asked = replace(state, step=Step.INDEX)
    if block_words.by_block(programme):
        after = _answer_by(
            asked,
            mark(
                "Then I call the face that is to lie up: turn the block, and press, "
                "or say {phrase}."
            ),
            mark("Then I call the face that is to lie up: turn the block, and press."),
        )
        return sentences(hint, after)
    if by_handwheel(programme):
        after = _answer_by(
            asked,
            mark("Then I call the move: dial at its reading, and press, or say {phrase}."),
            mark("Then I call the move: dial at its reading, and press."),
        )
        return sentences(hint, after)
    after = _answer_by(
        asked,
        mark("Then I call the move: pin in, and press, or say {phrase}."),
        mark("Then I call the move: pin in, and press."),
    )
    return sentences(hint, after)


def _free(programme: Programme, _: State) -> str:
    if block_words.by_block(programme):
        return block_words.freed_again()
    return say("Cutter clear. Take the lock off first.")


def _index(programme: Programme, state: State) -> str:
    place = state.place
    return sentences(
        _called(programme, place),
        beyond_the_arms(programme, place),
        _reading(programme, place),
        _stop(programme, place),
    )


def _called(programme: Programme, place: int) -> str:
    """The move to this place in whole words; of a block the face that it leads to."""
    if block_words.by_block(programme):
        return block_words.turn_words(programme, place)
    return move_words(programme.moves[place - 1])


def _stop(programme: Programme, place: int) -> str:
    """What is set for the cut at this place alone: after the guard it would be too late."""
    name = stop_at(programme, place)
    return say("Set the stop: {name}.", name=name) if name else ""


def stop_at(programme: Programme, place: int) -> str:
    """What the stop is set to for the cut at this place, "" where it stays as it is."""
    return programme.stops[place] if place < len(programme.stops) else ""


def _reading(programme: Programme, place: int) -> str:
    """ "To seventy degrees, dial at three degrees twenty-six minutes.": nothing to add up."""
    if not by_handwheel(programme):
        return ""
    return say("To {reading}.", reading=reading_words(programme, place))


def reading_words(programme: Programme, place: int) -> str:
    """Table and dial of a graduated handwheel at this place, both nought at the first cut."""
    a_turn = 1 / programme.worm_ratio
    whole, rest = divmod(position(programme, place), a_turn)
    table, dial = (arc_words(in_arc_minutes(Turns(each))) for each in (whole * a_turn, rest))
    return say("{table}, dial at {dial}", table=table, dial=dial)


def _at_pin(programme: Programme, state: State) -> str:
    """Gone back to a move that was called before. Called anew it would be made twice."""
    return sentences(
        say("The move to {place} was called.", place=place_words(programme, state.place)),
        say("It counts as made: {move}.", move=move_phrase(programme.moves[state.place - 1])),
        say("Don't turn it again."),
        _pin_in(programme, state),
        _ask_by(
            state,
            Command.OVERSHOT,
            mark("If it is past it, say {phrase}."),
            mark("If it is past it, key {key}."),
        ),
        _ask_by(
            state,
            Command.GO_BACK,
            mark("To undo the move, say {phrase}."),
            mark("To undo the move, key {key}."),
        ),
    )


def _pin_in(programme: Programme, state: State) -> str:
    place = place_words(programme, state.place)
    return sentences(
        say("Look whether it stands at {place}.", place=place),
        _answer_by(state, mark("If so press, or say {phrase}."), mark("If so press.")),
    )


def gone_back(programme: Programme, old: State, new: State) -> str:
    """What has been done and what is to be undone, where the question alone would have it done
    once more; "" where it says so itself."""
    if new.done < old.done:
        cut = number(new.cut(programme))
        return say("Cut {n} is open again: it counts as not cut.", n=cut)
    match old.step, new.step:
        case (Step.INDEX, Step.RELEASE) | (Step.TRIAL_MOVE, Step.TRIAL_CLEAR):
            place = place_words(programme, new.settled)
            if block_words.by_block(programme):
                return say("If it is turned already, first go back: {place}.", place=place)
            return sentences(
                say("If you have turned already, first go back to {place}.", place=place),
                say("Go past it, and up to it in the working direction."),
            )
        case Step.COME_UP, Step.BACK_OFF:
            if block_words.by_block(programme):
                return ""
            return say("If you have turned back half a turn, turn no further.")
        case Step.AT_PIN, Step.CHECK_POSITION:
            move = move_phrase(programme.moves[old.place - 1])
            return say("To be undone: {move}.", move=move)
    return ""


def _last_move(programme: Programme) -> str:
    if by_handwheel(programme):
        return say("One move left, back to nought.")
    if block_words.by_block(programme):
        return say("One move left, back to face one.")
    if marks_anew(programme) or begins_off_mark(programme):
        return say("One move left, back to the first cut.")
    return say("One move left, back to the first hole.")


def _back_off(programme: Programme, state: State) -> str:
    if block_words.by_block(programme):
        return sentences(
            say("Lift the block off its parallel."),
            _answer_by(state, mark("Then press, or say {phrase}."), mark("Then press.")),
        )
    return sentences(
        say("Turn the handwheel back half a turn past the reading.")
        if by_handwheel(programme)
        else say("Turn the crank back half a turn past the hole."),
        _answer_by(state, mark("Then press, or say {phrase}."), mark("Then press.")),
    )


def _come_up(programme: Programme, state: State) -> str:
    place = place_words(programme, state.place)
    if by_handwheel(programme):
        return say("Now come up in the working direction to {place}.", place=place)
    if block_words.by_block(programme):
        return block_words.turn_words(programme, state.place)
    return say("Now come up in the working direction to {place}, and let the pin in.", place=place)


def _from_mark_briefly(past: int) -> str:
    """By rote: which mark it is was told in the whole sentences."""
    if not past:
        return say("Pin at the mark.")
    if past > 0:
        return say_n(past, "Pin one past the mark.", "Pin {count} past the mark.")
    return say_n(-past, "Pin one short of the mark.", "Pin {count} short of the mark.")


def _from_mark(past: int | None) -> str:
    if past is None:
        return ""
    if not past:
        return say("Pin in the marked hole.")
    if past > 0:
        return say_n(past, "Pin one hole past the mark.", "Pin {count} holes past the mark.")
    return say_n(-past, "Pin one hole short of the mark.", "Pin {count} holes short of the mark.")


def _by_the_mark(programme: Programme, state: State) -> str:
    """The marked hole is a witness that the arms are not: of a hole missed, and of arms set wrong.
    Called where it is near, and every few cuts; a place that is found anew has it always."""
    past = holes_past_mark(programme, state, state.place)
    if past is None or not programme.arms_used or not look_is_due(programme, state.place, past):
        return ""
    return _from_mark_briefly(past) if is_brief(programme, state) else _from_mark(past)


def _arms(asked: bool) -> str:
    """Said so that it can be heard twice: arms that stand at the pin stay there."""
    return say("Swing the arms on to the pin.") if asked else ""


def _lock_words(programme: Programme) -> str:
    if block_words.by_block(programme):
        return block_words.tighten()
    return say("Lock the spindle.")


def _lock(programme: Programme, state: State) -> str:
    lock = _lock_words(programme)
    if state.recut:
        return lock
    if state.place == 0:
        # In a later pass the pin has come on since the arms were last swung.
        arms = _arms(programme.arms_used and state.pass_number > 1)
        here = say("First cut, no move yet.")
        if not by_handwheel(programme) and not begins_off_mark(programme):
            here = say("First hole, no move yet.")
        if block_words.by_block(programme):
            here = say("Cutter stopped. Face one up, no move yet.")
        first = sentences(here, _mark_this(programme), _stop(programme, 0))
        dial = _pass_and_dial(programme, state)
        return sentences(_again(programme, state), first, arms, dial, lock)
    scale = scale_words(programme, state.place) if scale_is_due(programme, state) else ""
    rule = _a_turn_off(programme, state) if scale else ""
    marked = _by_the_mark(programme, state)
    dial = _own_dial(programme, state)
    return sentences(_arms(programme.arms_used), marked, scale, rule, dial, lock)


def _mark_this(programme: Programme) -> str:
    """A round, of the trial too, has left the mark in a hole that the plate has carried along."""
    if not marks_anew(programme):
        return ""
    return say("Mark the hole that the pin is in, and wipe off every other mark.")


def _pass_and_dial(programme: Programme, state: State) -> str:
    """Said at the first cut of each pass, before the guard: behind it no dial is turned."""
    if programme.passes == 1 or state.pass_number > programme.passes:
        return dial_words(programme, state)
    n, total = number(state.pass_number), number(programme.passes)
    return sentences(say("Pass {n} of {total}.", n=n, total=total), dial_words(programme, state))


def _own_dial(programme: Programme, state: State) -> str:
    """Where each cut has a depth of its own, it is called with every cut."""
    return dial_words(programme, state) if any(programme.deeper) else ""


def _a_turn_off(programme: Programme, state: State) -> str:
    """Told with the first reading. Whole turns are put right with the pin kept to its hole;
    a place that is found anew by the reading alone may be a hole off."""
    move = programme.moves[0]
    known = state.pass_number > 1 or state.part > 1
    if state.place != 1 or known or not programme.worm_ratio:
        return ""
    degrees = 360 / programme.worm_ratio
    if not move.turns or not move.circle or degrees < 2 * programme.scale_degrees:
        return ""
    return say(
        "{degrees} degrees off, no more, no less, is one turn miscounted: turn it on or back, "
        "to the same hole.",
        degrees=capital(decimal(degrees)),
    )


def _again(programme: Programme, state: State) -> str:
    """Why the first cuts of the last pass are called once more."""
    if state.pass_number <= programme.passes:
        return ""
    return say_n(
        state.due(programme),
        "The first cut comes again: it was made before the cutter was set deeper.",
        "The first {count} cuts come again: they were made before the cutter was set deeper.",
    )


def beyond_the_arms(programme: Programme, place: int) -> str:
    """Arms that stay set stand at the lowest count."""
    beyond = programme.beyond(place)
    told = say_n(beyond, "One beyond the arms.", "{count} beyond the arms.")
    return capital(told) if beyond else ""


def before_the_arms(programme: Programme, place: int) -> str:
    """Asked after a move, while the arms still lie as in it: nothing else shows a wrong hole."""
    if beyond := programme.beyond(place):
        return say_n(
            beyond,
            "Pin one hole beyond the second arm?",
            "Pin {count} holes beyond the second arm?",
        )
    return say("Pin at the second arm?") if programme.arms_used else ""


def _leave_off(programme: Programme, state: State) -> str:
    return sentences(
        _arms(programme.arms_used and bool(state.place or state.pass_number > 1)),
        "" if state.place or state.recut else _pass_and_dial(programme, state),
        say("The head is driven in this cut: leave the spindle lock off, and the plate free."),
    )


def _call(programme: Programme, state: State) -> str:
    """Lock off, the move, what the arms and the scale show, and the lock: one call, one answer."""
    move = programme.moves[state.place - 1]
    scale = scale_words(programme, state.place) if scale_is_due(programme, state) else ""
    block = block_words.by_block(programme)
    off = block_words.release_asked() if block else say("Lock off.")
    words, stop = short_moves.brief_phrase(move), stop_at(programme, state.place)
    if words and stop and stop != stop_at(programme, state.place - 1):
        words = say("{move}, {stop}", move=words, stop=stop)
    if words and (beyond := programme.beyond(state.place)):
        words = say_n(beyond, "{move}, one beyond", "{move}, {count} beyond", move=words)
    brief = capital(say("{move}.", move=words)) if words else _index(programme, state)
    if scale:
        scale = say("Scale {degrees}.", degrees=_degrees(programme, state.place))
    marked = _by_the_mark(programme, state)
    if is_reminder(programme, state):
        return sentences(
            off, brief, before_the_arms(programme, state.place), _arms(programme.arms_used),
            marked, scale,
            dial_words(programme, state), _lock_words(programme),
        )  # fmt: skip
    between = sentences(marked, scale, _own_dial(programme, state))
    if not programme.arms_used:
        lock = block_words.vice() if block else say("Lock.")
        return sentences(off, brief, between, lock)
    if between:
        return sentences(off, brief, say("Arms."), between, say("Lock."))
    return sentences(off, brief, say("Arms, lock."))


def _in_few_words(programme: Programme, state: State) -> bool:
    return short(programme, state) and not is_reminder(programme, state)


def _guard(programme: Programme, state: State) -> str:
    if _in_few_words(programme, state):
        if block_words.by_block(programme):
            return say("Vice, guard?")
        return say("Guard?") if programme.unlocked else say("Lever, guard?")
    return _guard_in_full(programme)


def _guard_in_full(programme: Programme) -> str:
    # Tried at its lever, away from the cutter, in a question of its own: who forgot the lock, or
    # answered for it too soon, comes by it once more.
    lever = "" if programme.unlocked else say("Lock lever tight?")
    if block_words.by_block(programme):
        lever = say("Vice handle tight?")
    return sentences(lever, say("Guard closed, hands clear?"))


def _cut(programme: Programme, state: State) -> str:
    if state.doubted:
        return _was_it_a_cut(state)
    if state.recut:
        return _cut_again(programme, state)
    if _in_few_words(programme, state):
        return _short_cut(programme, state)
    n, total = number(state.cut(programme)), number(state.due(programme))
    label = programme.labels[state.done] if state.done < len(programme.labels) else ""
    seen = _seen(programme)
    if label:
        return say("{seen}: cut {n} of {total}, {label}.", seen=seen, n=n, total=total, label=label)
    return say("{seen}: cut {n} of {total}.", seen=seen, n=n, total=total)


def _seen(programme: Programme) -> str:
    """No question, which a press would answer as if the cut were made: seen on the way to it."""
    if block_words.by_block(programme):
        return say("Vice tight, guard shut")
    return say("Guard shut") if programme.unlocked else say("Lever tight, guard shut")


def _seen_briefly(programme: Programme) -> str:
    """Not in the words that ask for it: who hears these again must not answer them."""
    return say("Guard shut") if programme.unlocked else say("Tight and shut")


def _was_it_a_cut(state: State) -> str:
    """Asked once: a foot that answers before its cut has the next press for the cut itself."""
    return sentences(
        say("That was short. Was it a cut?"),
        _answer_by(
            state,
            mark("When it is made, wait ten seconds and press, or say {phrase}."),
            mark("When it is made, wait ten seconds and press."),
        ),
    )


def _short_cut(programme: Programme, state: State) -> str:
    """What is another than at the cut before, and else nothing."""
    label = programme.labels[state.done] if state.done < len(programme.labels) else ""
    seen = _seen_briefly(programme)
    if not label or label == programme.labels[state.done - 1]:
        return say("{seen}: cut.", seen=seen)
    # The stop was called by its name with the move, while it could still be set. A journal may be
    # of a time that did not tell the two apart: then all is called.
    if stop_at(programme, state.place) and state.done < len(programme.stamped):
        label = programme.stamped[state.done]
    if not label:
        return say("{seen}: cut.", seen=seen)
    return say("{seen}: cut, {label}.", seen=seen, label=label)


def _cut_again(programme: Programme, state: State) -> str:
    taken = programme.measurements[state.measured]
    n = number(state.cut(programme))
    left = _left(taken, taken.remaining(state.size_mm), programme)
    seen = _seen(programme)
    if taken.sideways:
        return say("{seen}: cut {n} again, {size} further across.", seen=seen, n=n, size=left)
    return say("{seen}: cut {n} again, {size} deeper.", seen=seen, n=n, size=left)


def _left(taken: Measurement, size: Millimetres, programme: Programme) -> str:
    """As finely as the limits of the size that was taken need it."""
    finely = called_finely(taken.room, programme.unit)
    return spoken_size(size, programme.unit, finely=finely)


def dial_words(programme: Programme, state: State) -> str:
    """Where the depth dial is to stand for this cut; after a measurement, how much deeper."""
    if is_set(programme, state):
        return say("Leave the depth dial as it is.")
    if more := after_the_size(programme, state):
        size = _left(programme.measurements[state.measured - 1], more, programme)
        return say("Depth dial {size} deeper than in the pass before.", size=size)
    depth = depth_of(programme, state)
    return say("Depth dial to {depth}.", depth=depth) if depth else ""


def depth_of(programme: Programme, state: State) -> str:
    """What the dial reads for this cut by the job's own figures, as it is said; "" for none."""
    if own := own_depth(programme, state):
        return spoken_size(own, programme.unit)
    if state.pass_number <= len(programme.depths):
        return programme.depths[state.pass_number - 1]
    return spoken_size(*millimetres_from_text(programme.depth)) if programme.depth else ""


def _measure(programme: Programme, state: State) -> str:
    wanted = programme.measurements[state.measured]
    give = (
        say("Say the size.")
        if by_voice(state)
        else say("Give the size, key {key}.", key=key_of(Act.FIGURE))
    )
    return sentences(wanted.question(), give, say("Or press to go on without it."))


def _read_back(programme: Programme, state: State) -> str:
    wanted = programme.measurements[state.measured]
    size = state.size_mm
    answer = wanted.answer(size, programme.unit)
    doubt = "" if answer.verdict in (SizeVerdict.LEFT, SizeVerdict.REACHED) else answer.text
    return sentences(
        capital(say("{size}.", size=spoken_size(size, programme.unit))),
        doubt,
        _answer_by(
            state,
            mark("If you measured that, press, or say {phrase}."),
            mark("If you measured that, press."),
        ),
        say("If not, give the size again."),
    )


def _undersize(programme: Programme, state: State) -> str:
    wanted = programme.measurements[state.measured]
    under = wanted.under_words(state.size_mm, programme.unit)
    return sentences(
        under,
        say("No cut puts it back. Stop, and decide."),
        _answer_by(
            state,
            mark("Measured wrong: press, or say {phrase}."),
            mark("Measured wrong: press."),
        ),
        _ask_by(
            state,
            Command.CARRY_ON,
            mark("To go on with it all the same, say {phrase}."),
            mark("To go on with it all the same, key {key}."),
        ),
        say("Scrap: key {key}.", key=key_of(Act.SCRAP)),
    )


def _spare_pass(programme: Programme, state: State) -> str:
    more = programme.passes - state.pass_number
    return sentences(
        say("By the size nothing is left to cut."),
        _answer_by(
            state,
            mark("To go round once more at the same dial, press, or say {phrase}."),
            mark("To go round once more at the same dial, press."),
        ),
        _leave_out(state, more),
    )


def _leave_out(state: State, more: int) -> str:
    passes = _more_passes(more)
    if listened_to(state):
        phrase = phrase_for(Command.CARRY_ON)
        return say("To leave {passes} out, say {phrase}.", passes=passes, phrase=phrase)
    return say("To leave {passes} out, key {key}.", passes=passes, key=key_of(Command.CARRY_ON))


def depth_after_size(programme: Programme, state: State) -> str:
    """What the size just confirmed means for the depth."""
    taken = programme.measurements[state.measured - (not state.recut)]
    answer = taken.left(state.size_mm, programme.unit)
    if not state.recut:
        return answer.text
    leave = _ask_by(
        state,
        Command.GO_BACK,
        mark("To leave it as it is, say {phrase}."),
        mark("To leave it as it is, key {key}."),
    )
    return sentences(answer.text, say("Set it, and cut this one again."), leave)


def _closing_check(programme: Programme, state: State) -> str:
    if not programme.closed:
        return _end_of_open(programme, state)
    return sentences(
        say("All the way round. Table and dial should be at nought.")
        if by_handwheel(programme)
        else say("All the way round. Face one should be up.")
        if block_words.by_block(programme)
        else _round_in_holes(programme, state),
        scale_words(programme, programme.cuts),
        _answer_by(state, mark("If so press, or say {phrase}."), mark("If so press.")),
        _ask_by(
            state,
            Command.LOST_COUNT,
            mark("If not, a count went wrong: say {phrase}."),
            mark("If not, a count went wrong: key {key}."),
        ),
        _then_next_part(programme, state),
    )


def _round_in_holes(programme: Programme, state: State) -> str:
    """The pin is the witness of every hole of the round: in its first one, or in the one to which
    a plate that turns has led it."""
    past = marks_anew(programme)
    if not past and begins_off_mark(programme):
        return say("All the way round. The pin should be in the hole of cut one.")
    if not past:
        return say("All the way round. The pin should be in its first hole.")
    turned = say("All the way round, and the plate has turned too.")
    if not state.stage:
        return sentences(
            turned,
            say_n(past, "The pin should be one hole past the mark.",
                  "The pin should be {count} holes past the mark.")
            if past > 0
            else say_n(-past, "The pin should be one hole short of the mark.",
                       "The pin should be {count} holes short of the mark."),
        )  # fmt: skip
    return sentences(turned, say("The pin is in another hole than at the first cut."))


def _then_next_part(programme: Programme, state: State) -> str:
    """What the answer leads to, where it is not the end."""
    if not part_is_made(programme, state):
        return ""
    return say("Then part {n} of {total}.",
               n=number(state.part + 1), total=number(programme.parts))  # fmt: skip


def _wound_back(programme: Programme) -> str:
    back = say("Lock off, wind back past the first cut, and come up to it again.")
    if by_handwheel(programme) or block_words.by_block(programme):
        return back
    return sentences(back, say("Pin in the marked hole."))


def _end_of_open(programme: Programme, state: State) -> str:
    if state.trial:
        return sentences(
            say("That was the last place."),
            _wound_back(programme),
            _press_or_say(state),
        )
    more = state.pass_number < programme.passes or more_follows(programme, state)
    # A turn wound too far or too little is as many places off as a turn has, in a whole pass.
    seen = say("The stopped cutter must stand in the first cut.")
    back = sentences(_wound_back(programme), seen) if more else ""
    last = say("That was the last cut. Cutter clear.")
    return sentences(last, back, _press_or_say(state), _then_next_part(programme, state))


def _batch_finished(programme: Programme, state: State) -> str:
    made = programme.parts - len(state.scraps)
    lost = say_n(len(state.scraps), "One was given up.", "{count} were given up.")
    return sentences(
        capital(say_n(made, "one part made.", "{count} parts made."))
        if made
        else say("No part made."),
        capital(lost) if state.scraps else "",
        say("Stop the cutter before you reach for the work."),
    )


def _finished(programme: Programme, state: State) -> str:
    if programme.parts > 1:
        return sentences(say("Finished."), _batch_finished(programme, state))
    if state.scrapped:
        made = capital(cuts_words(state.done))
        return sentences(
            say("Given up as scrap. {cuts} in this pass.", cuts=made),
            say("Stop the cutter before you reach for the work."),
        )
    cuts = cuts_words(programme.cuts)
    words = say("Finished. {cuts}.", cuts=capital(cuts))
    if state.pass_number < programme.passes:
        left = programme.passes - state.pass_number
        out = say_n(left, "The last pass was left out.", "The last {count} passes were left out.")
        words = sentences(words, out)
    elif programme.passes > 1:
        passes = number(programme.passes)
        words = say("Finished. {cuts} in {passes} passes.", cuts=capital(cuts), passes=passes)
    return sentences(words, say("Stop the cutter before you reach for the work."))


def _paused(programme: Programme, state: State) -> str:
    n = number(state.cut(programme))
    at = say("Paused at cut {n}. Stop the cutter.", n=n)
    if state.trial:
        at = say("Paused in the trial round, place {n}.", n=n)
    elif _setting_up(state):
        at = say("Paused in the set-up, item {n}. Stop the cutter.", n=number(state.item + 1))
    return sentences(
        at,
        _answer_by(
            state,
            mark("When you are back, press, or say {phrase}."),
            mark("When you are back, press."),
        ),
    )


def _check_position(programme: Programme, state: State) -> str:
    # The scale tells turns, not holes; the cutter in its own cut tells both.
    at_last_cut = 0 < state.done == state.settled + 1
    counted = say("No cut counted as done.")
    if state.done:
        counted = capital(say("{cuts} counted as done.", cuts=cuts_words(state.done)))
    return sentences(
        say("Check the position."),
        counted,
        _last_certain(programme, state),
        _from_mark(holes_past_mark(programme, state, state.settled)),
        scale_words(programme, state.settled),
        say("Cutter stopped, vice open, and the block down with that face up.")
        if block_words.by_block(programme)
        else say("Cutter clear, lock off, and turn to that reading in the working direction.")
        if by_handwheel(programme)
        else say(
            "Cutter clear, lock off, and bring the pin to that hole in the working direction."
        ),
        say("Try the stopped cutter in the last cut.") if at_last_cut else "",
        _in_the_pass_before() if _mark_unsure(programme, state) else "",
        _arms(programme.arms_used),
        _answer_by(
            state,
            mark("When it is there, press, or say {phrase}."),
            mark("When it is there, press."),
        ),
        _or_at_another(state),
        _or_spoilt(programme, state),
    )


def _or_at_another(state: State) -> str:
    """The program may have counted wrong, by an answer too many: the work knows better."""
    if state.trial:
        return ""
    if by_voice(state):
        return say("If another cut is next, say its number.")
    return say("If another cut is next, give its number, key {key}.", key=key_of(Act.FIGURE))


def _or_spoilt(programme: Programme, state: State) -> str:
    """A spoilt blank of a batch need not be cut to its end."""
    if not spoilt_of_a_batch(programme, state):
        return ""
    return say("If this part is spoilt, give it up with key {key}.", key=key_of(Act.SCRAP))


def _recount(programme: Programme, state: State) -> str:
    before = state.claimed - 1
    made = say("None made.")
    if before:
        made = capital(say("{cuts} made.", cuts=cuts_words(before)))
    return sentences(
        say("Cut {n} is next?", n=number(state.claimed)),
        made,
        say("Count them on the work."),
        say("Cutter stopped, vice open. Block down, {place}.", place=place_words(programme, before))
        if block_words.by_block(programme)
        else say("Cutter clear, lock off, and bring the pin to {place} in the working direction.",
            place=place_words(programme, before))
        if not by_handwheel(programme)
        else say("Cutter clear, lock off, and turn to {place} in the working direction.",
                 place=place_words(programme, before)),
        _from_mark(holes_past_mark(programme, state, before)),
        scale_words(programme, before),
        say("There the metal must stand uncut.")
        if state.pass_number == 1
        else _in_the_pass_before(),
        _arms(programme.arms_used),
        _answer_by(
            state,
            mark("If all of it agrees, press, or say {phrase}."),
            mark("If all of it agrees, press."),
        ),
        say("If not, give another number."),
    )  # fmt: skip


def _in_the_pass_before() -> str:
    return say("The stopped cutter must drop into the cut of the pass before.")


def _mark_unsure(programme: Programme, state: State) -> bool:
    """Before the first cut of a later pass the mark may still be that of the pass before."""
    return bool(marks_anew(programme)) and state.pass_number > 1 and not state.settled


def no_cut_number(programme: Programme, state: State, given: str) -> str:
    """What was given is no number of a cut of this pass: what would be."""
    return say(
        "{given} is no cut of this pass: give a whole number, one to {n}.",
        given=given[:20], n=number(state.due(programme)),
    )  # fmt: skip


def _last_certain(programme: Programme, state: State) -> str:
    return say("Last certain place: {place}.", place=place_words(programme, state.settled))


_QUESTIONS = {
    Step.SET_UP: _set_up,
    Step.TRIAL_CLEAR: _trial_clear,
    Step.TRIAL_MOVE: _trial_move,
    Step.RELEASE: _release,
    Step.FREE: _free,
    Step.INDEX: _index,
    Step.AT_PIN: _at_pin,
    Step.BACK_OFF: _back_off,
    Step.COME_UP: _come_up,
    Step.LOCK: _lock,
    Step.LEAVE_OFF: _leave_off,
    Step.CALL: _call,
    Step.GUARD: _guard,
    Step.CUT: _cut,
    Step.MEASURE: _measure,
    Step.READ_BACK: _read_back,
    Step.UNDERSIZE: _undersize,
    Step.CLOSING_CHECK: _closing_check,
    Step.SPARE_PASS: _spare_pass,
    Step.FINISHED: _finished,
    Step.PAUSED: _paused,
    Step.CHECK_POSITION: _check_position,
    Step.RECOUNT: _recount,
}


def phrase(step: Step) -> str:
    """The phrase that answers this step's question."""
    return phrase_for(ANSWERS[step])


# --- what is awaited, in a few words ----------------------------------------------------

_AWAITED = {
    Step.SET_UP: mark("the set-up item"),
    Step.TRIAL_CLEAR: mark("the cutter stopped and clear, the lock off"),
    Step.TRIAL_MOVE: mark("the next move of the trial round"),
    Step.RELEASE: mark("the lock off"),
    Step.FREE: mark("the lock off"),
    Step.INDEX: mark("the move, and the pin in its hole"),
    Step.AT_PIN: mark("a look at the pin: the move is made"),
    Step.BACK_OFF: mark("half a turn back"),
    Step.COME_UP: mark("the pin in its hole"),
    Step.LOCK: mark("the spindle lock on"),
    Step.LEAVE_OFF: mark("the lock left off"),
    Step.CALL: mark("the move, then the spindle lock on"),
    Step.GUARD: mark("the guard closed and your hands clear"),
    Step.CUT: mark("the cut done and the cutter clear"),
    Step.MEASURE: mark("the size"),
    Step.READ_BACK: mark("the size to be confirmed"),
    Step.UNDERSIZE: mark("your word on a part that is too small"),
    Step.CLOSING_CHECK: mark("the pin back in its first hole"),
    Step.SPARE_PASS: mark("whether to go round once more"),
    Step.FINISHED: mark("nothing: the job is finished"),
    Step.PAUSED: mark("you, to carry on"),
    Step.CHECK_POSITION: mark("the position to be certain"),
    Step.RECOUNT: mark("the cut that is next to be confirmed"),
}


# On a graduated handwheel there is no pin and no hole.
_AWAITED_DIAL = {
    Step.INDEX: mark("the move, and the dial at its reading"),
    Step.AT_PIN: mark("a look at the dial: the move is made"),
    Step.COME_UP: mark("the dial at its reading"),
    Step.CLOSING_CHECK: mark("table and dial back at nought"),
}


# The plate has turned, or the first cut was made elsewhere: the marked hole is not meant.
_AWAITED_ROUND = {Step.CLOSING_CHECK: mark("a look at pin and scale: the round is made")}


def awaited_words(programme: Programme, step: Step) -> str:
    """What the step waits for, as it stands after “I wait for”."""
    dial = _AWAITED_DIAL if by_handwheel(programme) else {}
    if marks_anew(programme) or begins_off_mark(programme):
        dial = _AWAITED_ROUND
    if block_words.by_block(programme):
        dial = block_words.AWAITED
    return say(dial.get(step, _AWAITED[step]))


def waiting(programme: Programme, step: Step) -> str:
    """What the step waits for, as a sentence."""
    return say("I wait for {awaited}.", awaited=awaited_words(programme, step))


# --- answers to what the person asks ----------------------------------------------------


def where_it_stands(programme: Programme, state: State) -> str:
    """Phase, cut, what stands, what is awaited."""
    if state.step is Step.FINISHED:
        return question(programme, state)
    n, total = number(state.cut(programme)), number(state.due(programme))
    if state.trial:
        return sentences(
            say("Trial round, place {n} of {total}.", n=n, total=total),
            _last_certain(programme, state),
            scale_words(programme, state.settled),
            waiting(programme, state.step),
        )
    if _setting_up(state):
        return _in_the_set_up(programme, state)
    at = say("Cut {n} of {total}.", n=n, total=total)
    if programme.passes > 1:
        at = say(
            "Cut {n} of {total}, pass {n_pass}.", n=n, total=total,
            n_pass=number(state.pass_number),
        )  # fmt: skip
    return sentences(
        part_words(programme, state),
        at,
        dial_words(programme, state),
        capital(say("{done} done.", done=number(state.done))) if state.done else say("None done."),
        _last_certain(programme, state),
        scale_words(programme, state.settled)
        if state.settled == state.place
        else _scale_there(programme, state.settled),
        waiting(programme, state.step),
    )


def _setting_up(state: State) -> bool:
    return Step.SET_UP in (state.step, state.back_to)


def _in_the_set_up(programme: Programme, state: State) -> str:
    """Neither plate nor dial may be set yet: no place is certain, and no depth holds."""
    total = number(len(programme.items(state.part)))
    return sentences(
        part_words(programme, state),
        say("In the set-up, item {n} of {total}.", n=number(state.item + 1), total=total),
        item_words(programme, state),
        waiting(programme, state.step) if state.step is Step.PAUSED else "",
    )


def _scale_there(programme: Programme, place: int) -> str:
    """What the scale reads at the place that the move leads away from: who has turned already
    must not take it for what he should see now, and turn back."""
    if not programme.scale_degrees:
        return ""
    degrees = position(programme, place) * 360
    if degrees == 0:
        return say("There the scale is at its first reading.")
    return say("There the scale reads {degrees}.", degrees=decimal(degrees))


_NOW_AND_THEN = {
    Step.TRIAL_CLEAR: mark("Now {awaited}, then I call the move."),
    Step.RELEASE: mark("Now {awaited}, then I call the move."),
    Step.INDEX: mark("Now {awaited}, then the lock."),
    Step.AT_PIN: mark("Now {awaited}, then the lock."),
    Step.COME_UP: mark("Now {awaited}, then the lock."),
    Step.LOCK: mark("Now {awaited}, then the guard."),
    Step.LEAVE_OFF: mark("Now {awaited}, then the guard."),
    Step.CALL: mark("Now {awaited}, then the guard."),
    Step.GUARD: mark("Now {awaited}, then cut {n}."),
    Step.CUT: mark("Now {awaited}, then the lock comes off for the next move."),
}


def what_next(programme: Programme, state: State) -> str:
    """What is awaited now and what follows. The figures of a move are never given here:
    they are called only when the lock is off."""
    if state.step is Step.SET_UP and not state.astray:
        return _item_after(programme, state)
    words = _what_follows(programme, state) or _NOW_AND_THEN.get(state.step, _NOW_ALONE)
    return say(words, awaited=awaited_words(programme, state.step), n=number(state.cut(programme)))


_NOW_ALONE = mark("Now {awaited}.")


def _what_follows(programme: Programme, state: State) -> str:
    """Where something else comes behind this step than on a head, between two cuts; else ""."""
    block = block_words.by_block(programme)
    if state.step in (Step.INDEX, Step.AT_PIN, Step.COME_UP):
        if state.trial:
            return _NOW_ALONE
        if state.place == programme.cuts:
            return mark("Now {awaited}, then a look whether the round came out.")
        if block:
            return mark("Now {awaited}, then the vice tight.")
        return mark("Now {awaited}, then the guard.") if programme.unlocked else ""
    if state.step is not Step.CUT:
        return ""
    if state.recut or last_cut_of_open(programme, state):
        return _NOW_ALONE
    if size_is_due(programme, state):
        return mark("Now {awaited}, then the size.")
    return mark("Now {awaited}, then the next move.") if block or programme.unlocked else ""


def _item_after(programme: Programme, state: State) -> str:
    """Which item of the set-up it is at, and what comes behind it."""
    items = programme.items(state.part)
    n, total = number(state.item + 1), number(len(items))
    if state.item + 1 < len(items):
        after = number(state.item + 2)
        now = say("Now item {n}, then item {after} of {total}.", n=n, after=after, total=total)
        return sentences(now, items[state.item + 1])
    return say("Now item {n} of {total}, then cut {cut}.", n=n, total=total,
               cut=number(state.cut(programme)))  # fmt: skip


def note_taken(_: Programme, state: State) -> str:
    """The note by its number."""
    return say("Note {n} taken.", n=number(state.notes))


def fewer_words_answer(_: Programme, __: State) -> str:
    """The answer to the wish for fewer words."""
    return say("Fewer words.")


def more_words_answer(_: Programme, __: State) -> str:
    """The answer to the wish for whole sentences."""
    return say("Whole sentences.")


def how_many_left(programme: Programme, state: State) -> str:
    """Cuts, passes and time that are left; in the trial round, its moves."""
    if state.trial:
        moves = programme.cuts - (not programme.closed)
        left = max(moves - state.settled, 0)
        return capital(
            say_n(
                left,
                "One move left in the trial round.",
                "{count} moves left in the trial round.",
            )
        )
    return sentences(
        left_words(programme, state),
        time_words(programme, state),
        _more_parts(programme, state),
    )


def said_again(programme: Programme, state: State) -> str:
    """What was said last, whole."""
    return state.said or question(programme, state)


REPLIES: Mapping[Intent, Callable[[Programme, State], str]] = {
    Intent.WHAT_NEXT: what_next,
    Intent.SAY_AGAIN: said_again,
    Intent.WHERE_AM_I: where_it_stands,
    Intent.HOW_MANY_LEFT: how_many_left,
    Intent.NOTE: note_taken,
    Intent.FEWER_WORDS: fewer_words_answer,
    Intent.MORE_WORDS: more_words_answer,
}
"""What is said to each question, and to what is taken beside one."""


def time_words(programme: Programme, state: State) -> str:
    """The time that is left in this pass, by the pace of the last cuts; "" before three."""
    if state.done >= state.due(programme):
        return ""
    if len(state.pace) < 3:
        return _time_by_last_time(programme, state)
    seconds = median(state.pace) * (state.due(programme) - state.done)
    return say_n(
        1 if seconds < 90 else round(seconds / 60),
        "About one minute at this pace.",
        "About {count} minutes at this pace.",
    )


def _time_by_last_time(programme: Programme, state: State) -> str:
    """Where the job was done before, by the cuts that are still to come; "" else."""
    first = (state.pass_number - 1) * programme.cuts
    known = programme.last_seconds[first + state.done : first + programme.cuts]
    if not known or not all(known):
        return ""
    return say_n(
        max(1, round(sum(known) / 60)),
        "About one minute, by last time.",
        "About {count} minutes, by last time.",
    )


def no_size(given: str) -> str:
    """What was given is no length: how one is given. A long text is cut off."""
    return say(
        "{given} is no size. Give it in figures, like nineteen point zero five.", given=given[:20]
    )


# --- refusals ---------------------------------------------------------------------------


def not_now(programme: Programme, state: State) -> str:
    """It makes no sense at this step, and what the step waits for."""
    if state.step is Step.FINISHED:
        return say("Not now. The job is finished.")
    return sentences(say("Not now."), waiting(programme, state.step))


def not_from_there(programme: Programme) -> str:
    """The answer came from what your settings do not allow for lock and guard."""
    if programme.answers.lock_and_guard == "voice":
        return say("Lock and guard are answered by voice alone. Say it.")
    return say("For lock and guard I take no voice. Press the pedal, or a key.")


def not_believed() -> str:
    """The pedal answers as no foot does: until when nothing of it counts."""
    return sentences(
        say("I take no answer from the pedal until it has been quiet for ten seconds."),
        say("Pressed before that, or in the middle of a cut, up to half a minute."),
        say("When it is doubted, then treat it so: press, say again, press, say again."),
    )


def too_soon(programme: Programme, state: State) -> str:
    """The press came before the question could be heard: the question once more."""
    return sentences(say("Too soon."), question(programme, state))


def too_quick(programme: Programme, state: State) -> str:
    """The press came far sooner than this person's usual ones: in whole sentences once more."""
    asked = question(programme, state)
    if state.step is Step.GUARD:
        asked = _guard_in_full(programme)
    return sentences(say("That was quick."), asked)


def no_way_back(programme: Programme, state: State) -> str:
    """There is no step before this one, and what this one waits for."""
    if state.step is Step.SET_UP and state.part > 1 and not (state.stage or state.item):
        return _part_is_over(programme, state)
    return sentences(
        say("There is nothing to go back to from here."), waiting(programme, state.step)
    )


def _part_is_over(programme: Programme, state: State) -> str:
    """The new blank would stand where the old one's last cut is asked about."""
    over = state.part - 1
    return sentences(
        say("Part {n} is over, and there is no way back to it.", n=number(over)),
        say("If it is not good, put it aside and add a note.") if over not in state.scraps else "",
        waiting(programme, state.step),
    )


def no_move_yet(programme: Programme, _: State) -> str:
    """No move was made that could have gone past its hole, or its reading."""
    if by_handwheel(programme):
        return say("No move has been made yet, so no reading was passed.")
    if block_words.by_block(programme):
        return say("No move has been made yet, so no face was passed.")
    return say("No move has been made yet, so no hole was passed.")


def not_sure(heard: str) -> str:
    """The ear was not sure enough of that phrase."""
    return say(
        "I am not sure that I heard {phrase}. Say it again, or press the pedal.", phrase=heard
    )


# --- hearing ----------------------------------------------------------------------------

TOO_LOUD = mark("I can't hear you well enough. Lock and guard: use the pedal, or Enter.")
QUIET_AGAIN = mark("I hear you well again. Your voice counts for lock and guard.")
_EARS = {
    "trained": mark("the built-in ear"),
    "head": mark("the built-in ear"),  # as earlier journals call it
    "vosk": mark("your Vosk model"),
    "grammar": mark("the grammar of phrases"),
}


def listening(ears: str) -> str:
    """Which ear listens; `ears` as in `SessionStarted`."""
    if ears == "none":
        return say("I am not listening. Answer by pedal or keyboard.")
    first, _, second = ears.partition("+")
    listens = say("I listen with {ear}.", ear=say(_EARS.get(first, first)))
    if not second:
        return listens
    agrees = say(_EARS.get(second, second))
    return sentences(listens, say("Lock and guard count only when {ear} agrees.", ear=agrees))


# --- devices ----------------------------------------------------------------------------

_NAMES = {
    Device.MICROPHONE: mark("microphone"),
    Device.EAR: mark("ear"),
    Device.SPEAKER: mark("speaker"),
    Device.PEDAL: mark("pedal"),
    Device.KEYBOARD: mark("keyboard"),
    Device.DISPLAY: mark("screen"),
    Device.JOURNAL: mark("log"),
    Device.PAGE: mark("bench page"),
}


def device_name(device: Device) -> str:
    """What a device is called in the language in force."""
    return say(_NAMES[device])


_LOSS = {
    Device.MICROPHONE: mark("The microphone is gone."),
    Device.EAR: mark("I can't hear commands now."),
    Device.SPEAKER: mark("The speaker is gone."),
    Device.PEDAL: mark("The pedal is gone."),
    Device.KEYBOARD: mark("The keyboard is gone."),
    Device.DISPLAY: mark("The screen is gone."),
    Device.PAGE: mark("The bench page is gone."),
    Device.JOURNAL: mark("The log can't be written."),
}
_UNMENDED = (Device.KEYBOARD, Device.DISPLAY, Device.PAGE)
_WAYS = {  # in the order in which they are offered
    Device.PEDAL: mark("the pedal"),
    Device.MICROPHONE: mark("your voice"),
    Device.KEYBOARD: mark("the keyboard"),
    Device.PAGE: mark("the bench page"),
}
_USE = (
    mark("Nothing else is left to answer with."),
    mark("Use {first}."),
    mark("Use {first} or {second}."),
    mark("Use {first}, {second} or {third}."),
)
_LOOK = {  # by what is left of speaker, screen and page
    (Device.SPEAKER,): mark("Listen."),
    (Device.DISPLAY,): mark("Read the screen."),
    (Device.PAGE,): mark("Look at the bench page."),
    (Device.SPEAKER, Device.DISPLAY): mark("Listen, or look at the screen."),
    (Device.SPEAKER, Device.PAGE): mark("Listen, or look at the bench page."),
    (Device.DISPLAY, Device.PAGE): mark("Look at the screen or the bench page."),
}
_SHOWS = (Device.SPEAKER, Device.DISPLAY, Device.PAGE)
_USUAL = {*Device} - {Device.PAGE}


def lost(state: State, device: Device, left: str = "") -> str:
    """`state` is that after the loss; `left` as in `DeviceLost`. It names only what is left."""
    there = {each for each in Device if each.value in left.split("+")} if left else _USUAL
    there = there - {*state.lost}
    cure = "" if device in _UNMENDED else say("To mend it, run tallyhand doctor.")
    return sentences(
        say(_LOSS[device]),
        _look_at(there) if device in _SHOWS else "",
        _answer_with(state, there) if device in {*_WAYS, Device.EAR} else "",
        cure,
    )


def _look_at(there: set[Device]) -> str:
    words = _LOOK.get(tuple(each for each in _SHOWS if each in there))
    return say(words) if words else ""


def _answer_with(state: State, there: set[Device]) -> str:
    if not listened_to(state):
        there = there - {Device.MICROPHONE}
    ways = [say(words) for device, words in _WAYS.items() if device in there]
    return say(_USE[len(ways)], **dict(zip(("first", "second", "third"), ways, strict=False)))


_TROUBLE = {
    Trouble.STUCK: mark(
        "The {device} stays down. Look what lies on it; it answers nothing until it is up."
    ),
    Trouble.CHATTERING: mark("The {device} chatters. Look at its contact; answer another way."),
    Trouble.HASTY: mark(
        "The {device} answers before it can have heard, or in a cut. Answer another way. To be "
        "believed: half a minute of quiet, then press, say again, press, say again."
    ),
    Trouble.LEANED_ON: mark(
        "Something leans on the {device}. I take no answer from it until it is quiet."
    ),
    Trouble.CLIPPING: mark(
        "The {device} is overdriven. Turn its level down, or answer another way."
    ),
    Trouble.OVERHEARD: mark(
        "The {device} can't tell your voice from mine or the shop's. While I speak I do not listen."
    ),
    Trouble.SHORT_OF_WORDS: mark(
        "The {device} can't know all phrases. Tallyhand doctor lists them; give these another way."
    ),
}


def troubled(device: Device, trouble: Trouble) -> str:
    """What is wrong with a device that is there, and what to do about it."""
    return say(_TROUBLE[trouble], device=device_name(device))


_RETURNED = {
    Device.MICROPHONE: mark("The microphone is back."),
    Device.EAR: mark("The ear is back."),
    Device.SPEAKER: mark("The speaker is back."),
    Device.PEDAL: mark("The pedal is back."),
    Device.KEYBOARD: mark("The keyboard is back."),
    Device.DISPLAY: mark("The screen is back."),
    Device.JOURNAL: mark("I can write the log again."),
    Device.PAGE: mark("The bench page is back."),
}


def returned(device: Device) -> str:
    """A device is there again."""
    return say(_RETURNED[device])


# What the displays show as long as it is so.
NOT_BELIEVED = mark("Pedal not believed: leave it be")
UNWRITTEN = mark("Nothing counts now: no log")


def cannot_write(programme: Programme, state: State) -> str:
    """The log can't be written: nothing counts until it can."""
    if state.step in (Step.SET_UP, Step.FINISHED):
        kept = say("The job is kept as it stood.")
    else:
        kept = say("The job is kept at cut {n}.", n=number(state.cut(programme)))
    return sentences(
        say("Stop. I can't write the log, so no answer counts now."),
        kept,
        say("I try again and again; the screen says what is wrong."),
    )


def cannot_begin() -> str:
    """There is no log yet, and none can be made."""
    return sentences(
        say("Stop. I can't write the log, so the job can't begin."),
        say("The terminal says what is wrong."),
    )


def nobody_answers() -> str:
    """No device is left that an answer could come from."""
    return say("Nobody can answer me any more: no pedal, keyboard, microphone or page.")


_METHODS = {
    "direct": (mark("{title}. {cuts}, by direct indexing."),
               mark("{title}. {cuts}, {passes}, by direct indexing.")),
    "block": (mark("{title}. {cuts}, by the faces of a block."),
              mark("{title}. {cuts}, {passes}, by the faces of a block.")),
    "plain": (mark("{title}. {cuts}, by plain indexing."),
              mark("{title}. {cuts}, {passes}, by plain indexing.")),
    "compound": (mark("{title}. {cuts}, by compound indexing."),
                 mark("{title}. {cuts}, {passes}, by compound indexing.")),
    "differential": (mark("{title}. {cuts}, by differential indexing."),
                     mark("{title}. {cuts}, {passes}, by differential indexing.")),
    "nearest": (mark("{title}. {cuts}, each to the nearest hole."),
                mark("{title}. {cuts}, {passes}, each to the nearest hole.")),
}  # fmt: skip


def greeting(programme: Programme) -> str:
    """The job by its title, its cuts and passes, and how it is indexed."""
    once, several = _METHODS["block" if block_words.by_block(programme) else programme.method]
    told = say(
        several if programme.passes > 1 else once,
        title=programme.title,
        cuts=capital(cuts_words(programme.cuts)),
        passes=say_n(programme.passes, "one pass", "{count} passes"),
    )
    if programme.parts > 1:
        each = say("{n} parts, one after the other.", n=capital(number(programme.parts)))
        told = sentences(told, each)
    if not programme.other_head:
        return told
    # Holes counted on another head than the one that stands there are wrong in every cut.
    other = say(
        "Mind: this is for the {head}, which is not the head of your settings.",
        head=programme.other_head,
    )
    return sentences(told, other)


def welcome_back(programme: Programme) -> str:
    """The title of the job that goes on."""
    return say("Back with {title}.", title=programme.title)
