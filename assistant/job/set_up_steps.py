"""What is said while setting up, item by item, in the order it is done (common practice)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from assistant.job.kinds import common
from assistant.job.part import Part, Round, Shop
from assistant.job.programme import spread
from assistant.job.round_end import holes_past_first
from assistant.job.units import angle_said
from assistant.words.language import mark, number, say, say_n
from assistant.words.moves import move_phrase
from assistant.words.spoken import capital, decimal, sentences
from solver import BEYOND, Gearing, Head, Move, Setup

_HEAD = mark("Head bolted down on a clean table, keys in the slots.")
_GUARD = mark("Guard works, eyes covered, no gloves, and you know where the stop button is.")
_SCALE = mark("Degree scale: set it to nought, or write down its reading. It is the witness.")


def one_spacing(moves: tuple[Move, ...]) -> bool:
    """True when the sector arms can stay as set: every move counts the same holes.

    Along a rule the last place has a move that leads nowhere: it counts no holes.
    """
    leading = (move for move in moves if move != Move(circle=move.circle))
    return len({(move.holes, move.circle) for move in leading}) == 1


def arms_spaces(moves: tuple[Move, ...]) -> int:
    """Spaces that the sector arms stand apart for these moves; 0: they are not used."""
    first = moves[0]
    if first.circle and one_spacing(moves):
        return first.holes
    return lower_count(moves)


def lower_count(moves: tuple[Move, ...]) -> int:
    """Spaces for arms that stay set at the lowest count, where the other moves go one hole or two
    beyond them; 0: not so. Nothing else may change: turns, circle, no second count."""
    leading = [move for move in moves if move != Move(circle=move.circle)]
    if len({(m.turns, m.circle) for m in leading}) != 1 or not leading[0].circle:
        return 0
    counts = {move.holes for move in leading}
    near = 0 < max(counts) - min(counts) <= BEYOND
    return min(counts) if near and not any(move.plate_holes for move in leading) else 0


def most_beyond(moves: tuple[Move, ...]) -> int:
    """Holes that a move goes beyond the arms at the most; 0: none does."""
    low = lower_count(moves)
    return max(move.holes for move in moves) - low if low else 0


def checklist(shop: Shop, setup: Setup, moves: tuple[Move, ...], part: Part) -> list[str]:
    """The whole set-up before the first cut of the job."""
    if is_block(shop.head):
        return _block_checklist(shop, setup, part)
    items = [
        *_doubt(part),
        say(_HEAD),
        say(_GUARD),  # before the cutter turns, to touch off or to make trial marks
        *_work(shop, part),
        *indexing_items(shop.head, setup, moves, rolls=_rolls(part)),
    ]
    # Before the trial round, which reads it.
    if shop.head.scale_degrees:
        items.append(say(_SCALE))
    # With no degree scale, marks all round are the witness that is worth most.
    if part.steps or not shop.head.scale_degrees:
        items.append(_trial(part))
    return items


def is_block(head: Head) -> bool:
    """No head: the work is held in a collet block, and a vice is its lock."""
    return head.plate_drive == "block"


_VICE = mark("Vice bolted down, its jaws along the table and clean.")
_IS_LOCK = mark(
    "The vice is the spindle lock here. Lock is off means that it is open. "
    "Spindle locked means that it is tight."
)


def _block_checklist(shop: Shop, setup: Setup, part: Part) -> list[str]:
    """The block lies in the vice before anything is touched: a trial cut tells nothing else."""
    return [
        *_doubt(part),
        say(_VICE),
        say(_IS_LOCK),
        say(_GUARD),
        sentences(
            say("Number the faces of the block: {count}, clockwise as seen on its free end.",
                count=number(setup.circle or 0)),
            say("Block in the vice, down on a parallel, its end against a stop, face one up."),
            say("Vice tight."),
        ),
        *_work(shop, part),
        _block_trial(part),
    ]  # fmt: skip


def _doubt(part: Part) -> list[str]:
    return [part.doubt] if part.doubt else []


def _work(shop: Shop, part: Part) -> list[str]:
    if part.steps:
        held = part.between_centres and not is_block(shop.head)
        tailstock = [common.tailstock(shop)] if held else []
        return [*tailstock, *part.steps]
    return [
        say("Work tight in the collet.")
        if is_block(shop.head)
        else say("Work held tight and running true; tailstock, if used, on the same height."),
        sentences(
            say("Cutter set over the work's axis, and it passes clear of every clamp."),
            common.touch_top() if part.passes[0].depth is not None else "",
            common.clamped(),
        ),
    ]


def trial_item(items: Sequence[str], part: Part) -> int:
    """Which item is the trial round that can be called, from 0; -1 where there is none."""
    first = part.rounds[0]
    moves = len(first.cuts) - (not first.closed)
    found = [n for n, item in enumerate(items) if item in (_trial(part), _block_trial(part))]
    return found[0] if moves > 0 and found else -1


def _trial(part: Part) -> str:
    cuts = len(part.rounds[0].cuts)
    return common.trial_moves(cuts) if part.trial_moves else common.trial_marks(cuts)


def _block_trial(part: Part) -> str:
    return common.block_trial_marks(len(part.rounds[0].cuts))


def next_blank() -> str:
    """The first item of the short set-up between two parts of a batch."""
    return say("Cutter stopped and clear. The part out, chips brushed away, the next blank in.")


def next_part_items(shop: Shop, setup: Setup, part: Part) -> list[str]:
    """For the next part of a batch with one setting: plate, pin, arms and gears stay."""
    here = _first_hole_again(shop.head, setup, part.rounds[0])
    # The block lies in the vice, and a spindle out of mesh has its pin, before the touch.
    first = is_block(shop.head) or setup.method == "direct"
    return [
        next_blank(),
        *_held_again(shop, part),
        *([here] if first else []),
        say(_GUARD),  # before the cutter turns to touch off
        *_touched_again(part),
        *([] if first else [here]),
    ]


def first_setting_again(
    shop: Shop, setup: Setup, moves: tuple[Move, ...], part: Part, before: OnHead
) -> list[str]:
    """For the next part of a batch with several settings: from the last one back to the first.

    The work is set up as a whole, since another setting has moved cutter and table; of the head
    only what another setting has changed. The first hole is marked anew: a blank may begin at any.
    """
    held = [item for item in _work(shop, part) if item != common.tailstock(shop)]
    cutter = say("The cutter of the first setting on again, if another took its place.")
    if is_block(shop.head):
        here = _first_hole_again(shop.head, setup, part.rounds[0])
        return [next_blank(), cutter, here, say(_GUARD), *held]
    return [
        next_blank(), cutter,
        *_changes(setup, before.setup), say(_GUARD), *_tailstock_again(shop, part), *held,
        *indexing_items(shop.head, setup, moves, rolls=_rolls(part), before=before),
        *([say(_SCALE)] if shop.head.scale_degrees else []),
    ]  # fmt: skip


def next_setting_again(shop: Shop, items: Sequence[str], now: OnHead, before: OnHead) -> list[str]:
    """A later setting of the next part: its items without what stands on the head already."""
    if now.setup is before.setup:
        return list(items)  # another round on the same ring tells only what changes
    whole = indexing_items(shop.head, now.setup, now.moves, rolls=now.rolls)
    needed = indexing_items(shop.head, now.setup, now.moves, rolls=now.rolls, before=before)
    return [item for item in items if item not in whole or item in needed]


def _held_again(shop: Shop, part: Part) -> list[str]:
    if part.along:
        return [say("Clamped as the one before, its end against the same stop.")]
    if part.steps and not _short_touch(part):
        return _tailstock_again(shop, part)  # the steps say the rest themselves
    if is_block(shop.head):
        return [say("Work tight in the collet, out by as much as the one before.")]
    return [sentences(say("Work held tight and running true."), *_tailstock_again(shop, part))]


def _tailstock_again(shop: Shop, part: Part) -> list[str]:
    held = part.between_centres and not is_block(shop.head)
    return [say("Tailstock up to it, its screw tight.")] if held else []


def _touched_again(part: Part) -> tuple[str, ...]:
    if part.along:
        # What lies against the stop has its first place where the first hole is: only the touch
        # and the depth behind it are new.
        begins = _touch_begins(part)
        return part.steps if begins is None else part.steps[begins : begins + 2]
    if part.steps:
        return _short_touch(part) or part.steps
    if part.passes[0].depth is None:
        return ()
    return (sentences(common.touch_top(), common.clamped()),)


def _short_touch(part: Part) -> tuple[str, ...]:
    """From the touch on, where nothing follows it but the depth: the cutter stands over the axis
    still. Empty where it is moved across behind the touch, so that all has to be done again."""
    begins = _touch_begins(part)
    if begins is None:
        return ()
    depth = part.steps[begins + 1 :]
    return part.steps[begins:] if all(common.clamped() in step for step in depth) else ()


def _touch_begins(part: Part) -> int | None:
    touch = (common.touch_top(), common.touch_point())
    return next((n for n, step in enumerate(part.steps) if step in touch), None)


def _first_hole_again(head: Head, setup: Setup, each: Round) -> str:
    """The closing check found it there; after a part that was given up it is anywhere."""
    if is_block(head):
        return say("Block down on its parallel, end to the stop, face one up. Vice tight.")
    scale = say("Degree scale at its first reading.") if head.scale_degrees else ""
    if setup.method != "direct" and not setup.plate:
        here = say("Lock off. Table and dial at nought, come up to in the working direction.")
    elif _plate_turned(setup, each):
        # The round that is over has carried the mark along, and this blank may begin at any hole.
        return sentences(
            say("Lock off. Pin in a hole, come up to in the working direction."),
            say("Mark that hole, and wipe off every other mark."),
            say(_SCALE) if head.scale_degrees else "",
            say("Arms on to it.") if setup.sector_spaces else "",
        )
    else:
        here = say("Lock off. Pin in the marked hole, come up to in the working direction.")
    return sentences(here, scale, say("Arms on to it.") if setup.sector_spaces else "")


def next_work_items(
    shop: Shop, setup: Setup, moves: tuple[Move, ...], part: Part, before: Setup
) -> list[str]:
    """From one ring to the next, on the same head with the work still in place."""
    stopped = say("Cutter stopped and clear. Another cutter or setting for the next ring.")
    if is_block(shop.head):
        here = _first_hole_again(shop.head, setup, part.rounds[0])
        return [*_doubt(part), stopped, here, say(_GUARD), *_work(shop, part), _block_trial(part)]
    return [
        *_doubt(part),
        stopped,
        *_changes(setup, before), say(_GUARD),
        *part.steps, *indexing_items(shop.head, setup, moves, rolls=_rolls(part)), _trial(part),
    ]  # fmt: skip


def _changes(setup: Setup, before: Setup) -> list[str]:
    """What of the set-up before has to go, with the work in its place."""
    change = []
    if before.gearing and not setup.gearing:
        # On a plate that the gears still turn, every hole is somewhere else.
        gone = say(
            "Change gears out of mesh. Back pin in its hole, so that the plate stands still."
        )
        change.append(gone)
    if before.method == "direct" and setup.method != "direct":
        worm = say(
            "Worm in mesh again. Meanwhile the spindle stays locked at its first hole. "
            "Take up the slack before you let it go."
        )
        change.append(worm)
    if before.any_plate and setup.plate and not setup.any_plate:
        change.append(
            say(
                "Plate {new} is needed now. If another is on: "
                "the spindle stays where it is, lock it while you change.",
                new=setup.plate,
            )
        )
    elif setup.plate and before.plate and setup.plate != before.plate and not setup.any_plate:
        plate = say(
            "Change of plate: plate {old} off, plate {new} on. "
            "The spindle stays where it is: lock it while you change.",
            old=before.plate, new=setup.plate,
        )  # fmt: skip
        change.append(plate)
    return change


def next_round_items(
    head: Head,
    setup: Setup,
    before: Round,
    each: Round,
    start: Move | None,
    arms: tuple[tuple[Move, ...], tuple[Move, ...]],
) -> list[str]:
    """From one setting of the cutter to the next, on the same part and plate.

    `start` leads from the first hole of the round before to that of this one, None where
    they are the same. `arms` are the moves of the two rounds.
    """
    items = [say("Cutter stopped and clear."), say(_GUARD), *each.settings]
    if each.rolled:
        items += each.rolled(roll_made(head, setup, each.roll_degrees))
    if each.roll_degrees != before.roll_degrees:
        items.append(roll_words(head, setup, before.roll_degrees, each.roll_degrees))
        if head.scale_degrees:
            items.append(
                say("Degree scale: set it to nought again, or write down its new reading.")
            )
    if start is not None and _plate_turned(setup, before):
        items.append(say("Lock off. From the hole that it is in: {move}.", move=move_phrase(start)))
    elif start is not None:
        items.append(say("Lock off. From the first hole: {move}.", move=move_phrase(start)))
    if setup.plate and setup.circle and _arms_for(arms[0]) != _arms_for(arms[1]):
        items.append(_arms(arms[1]))
    if not each.passes:
        items.append(say("The same depths again, from the same first touch."))
    return items


def _plate_turned(setup: Setup, each: Round) -> bool:
    """A round that is over has left the pin in another hole than its first one. Where it ends
    open, it is wound back, and the pin goes with it."""
    return each.closed and bool(holes_past_first(spread(setup.moves)))


def _arms_for(moves: tuple[Move, ...]) -> tuple[int, int]:
    return arms_spaces(moves), most_beyond(moves)


def roll_words(head: Head, setup: Setup, before: float, now: float) -> str:
    """The roll as crank turns and the nearest holes; which way is said with the offset.

    Both ends are rounded by themselves, so that the sides come out alike.
    """
    about = angle_said(abs(now - before))  # the way is told with the offset
    if not setup.circle:
        return say(
            "Lock off. Roll the blank {angle} on the handwheel, and take up the slack.",
            angle=about,
        )
    moved = abs(_roll_holes(head, setup, now) - _roll_holes(head, setup, before))
    whole, holes = divmod(moved, setup.circle)
    move = Move(whole, holes, setup.circle)
    return say(
        "Lock off. Roll the blank {angle}: {move}. Where that goes against the working direction, "
        "go half a turn past it and come up again. This hole is the first one.",
        angle=about, move=move_phrase(move),
    )  # fmt: skip


def _roll_holes(head: Head, setup: Setup, degrees: float) -> int:
    """On the circle of the set-up, to the nearest hole."""
    return round(Fraction(degrees) * head.worm_ratio * (setup.circle or 0) / 360)


def roll_made(head: Head, setup: Setup, degrees: float) -> float:
    """The roll that the holes give, in degrees; a handwheel goes where it is told."""
    if not setup.circle:
        return degrees
    return float(360 * _roll_holes(head, setup, degrees) / (head.worm_ratio * setup.circle))


# --- the head ---------------------------------------------------------------------------


def _rolls(part: Part) -> bool:
    """The blank is rolled in a later round, by holes of a circle."""
    return any(each.roll_degrees for each in part.rounds)


@dataclass(frozen=True, slots=True)
class OnHead:
    """What a setting leaves on the head: plate, circle, arms, gears."""

    setup: Setup
    moves: tuple[Move, ...]
    rolls: bool

    @property
    def circle(self) -> tuple[str, int] | None:
        """Plate and circle; None where any plate did, or none."""
        setup = self.setup
        if not setup.plate or not setup.circle or (setup.any_plate and not self.rolls):
            return None
        return setup.plate, setup.circle

    @property
    def arms(self) -> tuple[int, int]:
        """The spaces between the sector arms, and by how many holes at most a move
        goes beyond them.
        """
        return _arms_for(self.moves)

    @property
    def gearing(self) -> Gearing | None:
        """The change gears between spindle and plate; None where there are none."""
        return self.setup.gearing


def left_on(part: Part, setup: Setup, moves: tuple[Move, ...]) -> OnHead:
    """What this setting leaves on the head for the one that comes after it."""
    return OnHead(setup, moves, _rolls(part))


ANY_PLATE = mark("Any plate and any hole will do: every move is whole turns.")


def indexing_items(
    head: Head,
    setup: Setup,
    moves: tuple[Move, ...],
    *,
    rolls: bool = False,
    before: OnHead | None = None,
) -> list[str]:
    """Plate, pin, arms, gears and slack. `rolls`: holes will be counted, though no move has any.
    `before`: what stands on the head and is not told again."""
    if setup.method == "direct":
        return _direct(setup)
    return _crank(head, OnHead(setup, moves, rolls), before)


def _direct(setup: Setup) -> list[str]:
    circle = spread(setup.moves)[0].direct_circle or 0
    return [
        say(
            "Worm out of mesh. Direct plate of {circle} holes, its pin in a hole: "
            "that is the first hole. Mark it.",
            circle=number(circle),
        ),
    ]


def _crank(head: Head, now: OnHead, before: OnHead | None) -> list[str]:
    setup, items = now.setup, []
    if setup.any_plate and not now.rolls:
        items.append(say(ANY_PLATE))
    elif setup.plate and setup.circle:
        items += _circle(setup.plate, setup.circle, now, before)
    if not (before and before.gearing and before.gearing == setup.gearing):
        items += _gears(setup)
    if any(move.plate_holes for move in now.moves):
        items.append(say("Back pin in its hole. For each move: crank first, then plate and crank."))
    return [*items, *_from_its_nought(setup), _slack(setup)]


def _circle(plate: str, circle: int, now: OnHead, before: OnHead | None) -> list[str]:
    stands = before.circle if before else None
    items = []
    if stands is None or stands[0] != plate:
        items.append(say("Plate {plate} on the head, its screws tight.", plate=plate))
    if stands != (plate, circle):
        items.append(say("Crank pin set to the {circle} circle.", circle=number(circle)))
    if before is None or (stands, before.arms) != ((plate, circle), now.arms):
        items.append(_arms(now.moves))
    return items


def accuracy_words(setup: Setup) -> str:
    """What the work comes out at on a head that was measured; nothing where it was not."""
    if setup.true_error is None:
        return ""
    seconds = decimal(Fraction(round(setup.true_error * 12960000), 10))
    if setup.corrected:
        return say(
            "Each move is corrected for the head's own errors: {seconds} arc-seconds are left "
            "at worst.",
            seconds=seconds,
        )
    return say(
        "With the head's own errors no place is off by more than {seconds} arc-seconds.",
        seconds=seconds,
    )


def _from_its_nought(setup: Setup) -> list[str]:
    """The errors are known by place: begun elsewhere, a correction would make them worse."""
    if setup.true_error is None:
        return []
    where = say(
        "Bring the spindle to the nought from which the head was measured, and begin there. "
        "Its errors are known from that place alone."
    )
    return [sentences(where, accuracy_words(setup))]


def _slack(setup: Setup) -> str:
    if setup.plate:
        return say(
            "Take up the slack: turn the crank the way you will always turn it. "
            "Come up to the start that way. Pin in the first hole: mark that hole."
        )
    return say(
        "Take up the slack: turn the handwheel the way you will always turn it. "
        "Come up to its nought that way."
    )


def _arms(moves: tuple[Move, ...]) -> str:
    if spaces := lower_count(moves):
        beyond = say("They stay so. Where I call it, go one hole beyond them.")
        if most_beyond(moves) > 1:
            beyond = say("They stay so. Where I call it, go one hole or two beyond them.")
        return sentences(_arms_set(spaces), beyond)
    if not one_spacing(moves):
        return say(
            "Leave the sector arms: the holes change from move to move, and I call each one."
        )
    holes = moves[0].holes
    if not holes:
        return say("Leave the sector arms: every move is whole turns.")
    return _arms_set(holes)


def _arms_set(holes: int) -> str:
    return say_n(
        holes,
        "Sector arms: left arm against the pin, right arm so that one space lies between. "
        "That is {holes} holes with the one the pin is in. Lock the arms.",
        "Sector arms: left arm against the pin, right arm so that {count} spaces lie between. "
        "That is {holes} holes with the one the pin is in. Lock the arms.",
        holes=number(holes + 1),
    )


def _gears(setup: Setup) -> list[str]:
    if not setup.gearing:
        return []
    gearing = setup.gearing
    return [
        sentences(
            say_n(
                len(gearing.drivers),
                "Change gears. Driver, from the spindle: {gears}.",
                "Change gears. Drivers, from the spindle: {gears}.",
                gears=_teeth(gearing.drivers),
            ),
            say("Driven, at the plate: {gears}.", gears=_teeth(gearing.driven)),
            capital(say_n(gearing.idlers, "one idler", "{count} idlers")) + "."
            if gearing.idlers
            else say("No idler."),
        ),
        say("Back pin out, so that the plate is free to turn."),
        say("Turn the crank and watch the plate: it must turn with the crank.")
        if gearing.plate == "with"
        else say("Turn the crank and watch the plate: it must turn against the crank."),
    ]


def _teeth(gears: Sequence[int]) -> str:
    """ "one hundred teeth, then thirty-two teeth": side by side they would be one number."""
    first, *others = [say("{n} teeth", n=number(gear)) for gear in gears]
    for other in others:
        first = say("{first}, then {next}", first=first, next=other)
    return first
