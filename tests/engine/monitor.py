"""An observer that knows the shop's rules and not the engine's table.

It watches only what outside programs can see (events, effects, the visible state), keeps
its own account of lock, guard and cuts, and raises Broken when a rule is broken.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from assistant.engine.engine import Announce, Effect, Refuse, Say
from assistant.engine.events import (
    Command,
    CommandGiven,
    Event,
    Gesture,
    PartScrapped,
    PedalUsed,
    PhraseHeard,
    SessionResumed,
    Source,
    TrustChanged,
)
from assistant.engine.phases import Phase, Step, phase_of
from assistant.engine.state import State
from assistant.job.programme import Programme

_CONFIRMING = {
    Phase.LOCK: (Command.LOCKED,),
    Phase.GUARD: (Command.GUARDED,),
    Phase.CUT: (Command.CUT_DONE,),
    Phase.RELEASE: (Command.RELEASED,),
    Phase.CHECK_POSITION: (Command.PLACE_RIGHT,),
}


_TO_BE_ASKED = (Phase.LOCK, Phase.CHECK_POSITION)


class Broken(AssertionError):
    """A rule of the shop was broken."""


@dataclass(frozen=True)
class Account:
    """The observer's own account of the bench."""

    lock_for: int | None = None  # cut for which the lock was confirmed after its move
    guard_for: int | None = None
    lock_on: bool = False  # as far as the person has said
    made: int = 0  # cuts counted in all
    extra: int = 0  # of these, in earlier stages, after a size had shown them too shallow
    too_loud: bool = False  # to trust the ear


def answered(event: Event, phase: Phase, *, driven: bool) -> bool:
    """True when the event is the person's answer to this phase's question."""
    if isinstance(event, PedalUsed):
        return event.gesture is Gesture.PRESS
    command = _meant(event)
    if driven and phase is Phase.LOCK:
        return command is Command.RELEASED
    return command in _CONFIRMING.get(phase, ())


def _meant(event: Event) -> Command | None:
    """What a phrase, a key or a button asks for; a refusal ends the look before."""
    heard = isinstance(event, PhraseHeard) and event.accepted
    return event.command if heard or isinstance(event, CommandGiven) else None


def watch(
    programme: Programme,
    account: Account,
    old: State,
    event: Event,
    new: State,
    effects: list[Effect],
) -> Account:
    """The account after the event. Raises Broken."""
    refused = any(isinstance(effect, Refuse) for effect in effects)
    if refused and new != old:
        raise Broken(f"refused, yet changed: {event} {old} -> {new}")
    if refused:
        return account
    account = _loudness(account, old, event, new)
    if new.part != old.part:
        account = _part_over(programme, account, old, event, new)
    elif new.stage != old.stage:
        account = replace(account, extra=account.extra + _more_or_less(programme, old, event))
    if phase_of(old.step) is Phase.CHECK_POSITION and phase_of(new.step) is Phase.LOCK:
        return _counted_anew(programme, account, old, event, new)
    _in_the_trial_round(old, new)
    account = _reopened(account, old, event, new)
    account = _answers(programme, account, old, event, new)
    if any(isinstance(effect, Announce) for effect in effects):
        account = _announced(account, new, effects)
    _counts(programme, account, old, new, event)
    if phase_of(new.step) is Phase.CUT:
        _cut_entered(programme, account, new)
    return account


_NO_CUT = {
    Phase.SET_UP,
    Phase.RELEASE,
    Phase.INDEX,
    Phase.CLOSING_CHECK,
    Phase.PAUSED,
    Phase.CHECK_POSITION,
}


def _in_the_trial_round(old: State, new: State) -> None:
    """It is gone round with the cutter stopped: nothing is confirmed in it, nothing counted, no
    cut comes near; it begins in the set-up, and leads back there with the pin in its first hole."""
    if new.trial and (new.locked or new.guarded or new.done or phase_of(new.step) not in _NO_CUT):
        raise Broken(f"in the trial round, and near a cut: {old} -> {new}")
    if new.trial and not old.trial and phase_of(old.step) is not Phase.SET_UP:
        raise Broken(f"a trial round after the set-up: {old} -> {new}")
    ended = old.trial and not new.trial
    if ended and (phase_of(new.step) is not Phase.SET_UP or new.place or new.settled):
        raise Broken(f"the trial round ends elsewhere: {old} -> {new}")
    at_first = old.step is Step.CLOSING_CHECK or not (old.place or old.settled)
    if ended and not (new.astray or at_first):
        raise Broken(f"the trial round is left, and the first hole not asked for: {old} -> {new}")
    if new.astray and phase_of(new.step) not in (Phase.SET_UP, Phase.PAUSED):
        raise Broken(f"begun from any hole: {old} -> {new}")


def _loudness(account: Account, old: State, event: Event, new: State) -> Account:
    """Where it is too loud, no voice confirms lock or guard."""
    if isinstance(event, TrustChanged | SessionResumed):
        account = replace(account, too_loud=isinstance(event, TrustChanged) and not event.trusted)
    if new.too_loud != account.too_loud:
        raise Broken(f"too loud is {account.too_loud}, shown {new.too_loud}: {event}")
    spoken = isinstance(event, PhraseHeard) and event.source is Source.VOICE
    closer = (not old.locked and new.locked) or (not old.guarded and new.guarded)
    if account.too_loud and spoken and closer:
        raise Broken(f"a voice believed where it is too loud: {event} {old} -> {new}")
    return account


_GIVEN_UP_AT = (Phase.MEASURE, Phase.CHECK_POSITION)


def _part_over(
    programme: Programme, account: Account, old: State, event: Event, new: State
) -> Account:
    """The next part begins at its set-up with nothing made and nothing confirmed; the one before
    it is whole, or was given up by name."""
    begun = State(part=old.part + 1)
    names = ("stage", "item", "place", "settled", "done", "pass_number", "locked", "guarded")
    clean = all(getattr(new, name) == getattr(begun, name) for name in ("part", *names))
    if phase_of(new.step) is not Phase.SET_UP or not clean:
        raise Broken(f"the next part begins elsewhere: {old} -> {new}")
    if isinstance(event, PartScrapped):
        if phase_of(old.step) not in _GIVEN_UP_AT or new.scraps != (*old.scraps, old.part):
            raise Broken(f"a part given up elsewhere: {old} -> {new}")
        open_ = replace(account, lock_for=None, guard_for=None, lock_on=False)
        return replace(open_, extra=account.made - total(programme, new))
    if old.stage + 1 < programme.stages or old.done < min(programme.stage(old.stage).cuts, 1):
        raise Broken(f"the next part before this one was made: {event} {old} -> {new}")
    if new.scraps != old.scraps:
        raise Broken(f"given up unasked: {event} {old} -> {new}")
    account = replace(account, extra=account.extra + _more_or_less(programme, old, event))
    if account.made != total(programme, new) + account.extra:
        raise Broken(f"the next part after {account.made} cuts: {old} -> {new}")
    return account


def _more_or_less(programme: Programme, old: State, event: Event) -> int:
    """Cuts of a stage that is over, beyond its own: some came again, or a pass was left out."""
    job = programme.stage(old.stage)
    if old.pass_number > job.passes:
        return old.done
    left_out = job.passes - old.pass_number
    if left_out and not _all_the_same(old, event):
        raise Broken(f"passes left out unasked: {event} {old}")
    return -left_out * job.cuts


def _all_the_same(old: State, event: Event) -> bool:
    """The person chose to leave out a pass that has nothing to cut."""
    chosen = _meant(event) is Command.CARRY_ON
    return chosen and phase_of(old.step) is Phase.CLOSING_CHECK


def _counted_anew(
    programme: Programme, account: Account, old: State, event: Event, new: State
) -> Account:
    """After a look at the work the count is what the person says, if it was asked back; and
    nothing is confirmed yet for the cut that is next."""
    if not answered(event, Phase.CHECK_POSITION, driven=False) or new.locked or new.guarded:
        raise Broken(f"counted anew without an answer: {event} {old} -> {new}")
    said = old.claimed - 1 if old.claimed else old.done
    if not new.done == new.place == new.settled == said:
        raise Broken(f"cut {said + 1} is next, and it goes on at another: {old} -> {new}")
    made = account.made + new.done - old.done
    return replace(account, made=made, lock_for=None, guard_for=None, lock_on=False)


def _reopened(account: Account, old: State, event: Event, new: State) -> Account:
    """A cut counts no longer only where the person goes back to it: the one just counted, at its
    place, and it can't be made before lock and guard are confirmed anew."""
    same = (new.part, new.stage, new.pass_number) == (old.part, old.stage, old.pass_number)
    if not same or new.done >= old.done:
        return account
    back = _meant(event) is Command.GO_BACK
    if not back or new.done != old.done - 1 or phase_of(new.step) not in _TO_BE_ASKED:
        raise Broken(f"cuts lost: {event} {old} -> {new}")
    if new.locked or new.guarded or (new.place, new.settled) != (new.done, new.done):
        raise Broken(f"a cut reopened elsewhere, or with lock or guard: {old} -> {new}")
    return replace(account, made=account.made - 1, lock_for=None, guard_for=None, lock_on=False)


def _answers(
    programme: Programme, account: Account, old: State, event: Event, new: State
) -> Account:
    before, after = phase_of(old.step), phase_of(new.step)
    cut = total(programme, new) + 1
    if isinstance(event, SessionResumed) or after in (Phase.PAUSED, Phase.CHECK_POSITION):
        # After these nothing counts any more: the person may have touched anything.
        return replace(account, lock_for=None, guard_for=None, lock_on=False)
    if not answered(event, before, driven=programme.stage(old.stage).unlocked):
        if (before, after) == (Phase.GUARD, Phase.LOCK):
            return replace(account, lock_for=None, guard_for=None, lock_on=False)
        return replace(account, guard_for=None) if after is Phase.GUARD else account
    if before is Phase.LOCK:
        on = not programme.stage(old.stage).unlocked
        return replace(account, lock_for=cut if on else None, guard_for=None, lock_on=on)
    if before is Phase.GUARD:
        return replace(account, guard_for=cut)
    if before is Phase.RELEASE:
        return replace(account, lock_for=None, guard_for=None, lock_on=False)
    return _cut_answered(account, old, new) if before is Phase.CUT else account


def _cut_answered(account: Account, old: State, new: State) -> Account:
    """It counts, unless it is asked first whether it was one: then nothing else changes."""
    if new.doubted and not old.doubted:
        if new != replace(old, doubted=True, said=new.said, before=new.before):
            raise Broken(f"a cut asked about, and more than that changed: {old} -> {new}")
        return account
    made = account.made + (not old.recut)
    return replace(account, made=made, lock_for=None, guard_for=None)


def _announced(account: Account, new: State, effects: list[Effect]) -> Account:
    """With the lock said to be off, or in the sentence that asks for it before the move."""
    said = [effect.text for effect in effects if isinstance(effect, Say)]
    first = said[-1].startswith("Lock off. ")
    if new.locked or (account.lock_on and not first):
        raise Broken(f"a move announced while locked: {new}")
    return replace(account, lock_for=None, guard_for=None, lock_on=False)


def _counts(programme: Programme, account: Account, old: State, new: State, event: Event) -> None:
    counted = total(programme, new) + account.extra
    if counted != account.made:
        raise Broken(f"{account.made} cuts made, {counted} counted: {old} -> {new}")
    more = new.done if new.pass_number > programme.stage(new.stage).passes else 0
    if phase_of(new.step) is not Phase.FINISHED or old.step is new.step:
        return
    if new.scrapped or new.scraps != old.scraps:
        if not isinstance(event, PartScrapped):
            raise Broken(f"given up unasked: {event}")
        return
    more += _more_or_less(programme, old, event) if not more else 0
    if account.made != wanted(programme) + account.extra + more:
        raise Broken(f"finished after {account.made} cuts")
    if new.again and more < new.again:
        raise Broken(f"finished, and {new.again} cuts are too shallow: {new}")


def _cut_entered(programme: Programme, account: Account, new: State) -> None:
    cut = total(programme, new) + 1
    driven = programme.stage(new.stage).unlocked
    if not new.guarded or new.locked == driven:
        raise Broken(f"in the cut without lock and guard shown: {new}")
    # A cut that is made again deeper stands locked since it was made; its guard does not.
    locked = account.lock_on if new.recut else account.lock_for == cut
    if not (locked or driven) or account.guard_for != cut:
        raise Broken(f"in cut {cut} with {account}: {new}")
    if new.settled != new.place or new.place != new.done - new.recut:
        raise Broken(f"cut {cut} at the wrong place: {new}")


def total(programme: Programme, state: State) -> int:
    """Cuts counted in all passes of all stages."""
    before = sum(stage.cuts * stage.passes for stage in map(programme.stage, range(state.stage)))
    before += (state.part - 1) * of_a_part(programme)
    return before + (state.pass_number - 1) * programme.stage(state.stage).cuts + state.done


def wanted(programme: Programme) -> int:
    """Cuts of the whole job."""
    return programme.parts * of_a_part(programme)


def of_a_part(programme: Programme) -> int:
    return sum(stage.cuts * stage.passes for stage in map(programme.stage, range(programme.stages)))
