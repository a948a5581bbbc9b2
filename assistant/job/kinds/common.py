"""What several kinds share: passes, the cutter over the axis, the tailstock, trial marks."""

from __future__ import annotations

from dataclasses import replace

from assistant.job.limits import Limits
from assistant.job.part import Figure, Findings, Passes, Shop
from assistant.job.reader import Table
from assistant.job.units import Unit, said, shown
from assistant.words.language import number, say
from assistant.words.spoken import capital, sentences
from solver import Millimetres

PASS_KEYS = ("passes", "finish")


def read_passes(table: Table) -> Passes:
    """1 to 20 passes, and the depth that is kept for the last, in mm."""
    return Passes(table.whole("passes", 1, 20, 1), table.maybe_length("finish"))


def tailstock(shop: Shop) -> str:
    """The tailstock at the height of the head's axis; with its number where that is known."""
    height = shop.machine.centre_height
    dog = say("Dog and carrier, where used, without play.")
    if not height:
        centre = say("Tailstock centre on the height of the head's axis, and its screw tight.")
        return sentences(centre, dog)
    centre = say(
        "Tailstock centre {height} above the table, as the head's axis, and its screw tight.",
        height=said(height, shop.unit),
    )
    return sentences(centre, dog)


def runs_true(diameter: Millimetres | None, shop: Shop) -> str:
    """The item of the set-up that holds the work, with the diameter that it should
    measure, in mm.
    """
    held = say("Work held tight and running true.")
    if shop.head.plate_drive == "block":
        held = say("Work tight in the collet. The cutter must pass clear of the block.")
    if not diameter:
        return held
    return sentences(
        held,
        say("Its diameter should measure {size}.", size=said(diameter, shop.unit)),
    )


def over_centre(diameter: Millimetres, shop: Shop) -> str:
    """Touch one side, then move across by half of work and cutter together (common practice)."""
    wide = shop.cutter.width
    if wide is None:
        return say(
            "Cutter over the axis: touch one side of the work with the side of the cutter. "
            "Lower the table clear. Move across {size} and half the cutter's width.",
            size=said(Millimetres(diameter / 2), shop.unit),
        )
    across = (diameter + wide) / 2
    return say(
        "Cutter over the axis: touch one side of the work with the side of the cutter. "
        "Lower the table clear. Move across {size}.",
        size=said(Millimetres(across), shop.unit),
    )


def over_centre_going_away(diameter: Millimetres, shop: Shop) -> str:
    """The same where the table is moved on later: it has to be known which way it came."""
    wide = shop.cutter.width
    if wide is None:
        return say(
            "Cutter over the axis: touch the far side of the work with the side of the cutter. "
            "Lower the table clear. Move across {size} and half the cutter's width, the table "
            "going away from you.",
            size=said(Millimetres(diameter / 2), shop.unit),
        )
    return say(
        "Cutter over the axis: touch the far side of the work with the side of the cutter. "
        "Lower the table clear. Move across {size}, the table going away from you.",
        size=said((Millimetres((diameter + wide) / 2)), shop.unit),
    )


def to_centre(diameter: Millimetres, wide: Millimetres) -> Millimetres:
    """From touching the side to the cutter's middle over the axis, mm."""
    return Millimetres((diameter + wide) / 2)


def over_axis(diameter: Millimetres, wide: Millimetres, shop: Shop) -> str:
    """The cutter's middle over the axis, for a cutter whose width the work names."""
    return over_centre(diameter, replace(shop, cutter=replace(shop.cutter, width=wide)))


def side_over_axis(diameter: Millimetres, shop: Shop) -> str:
    """The side that makes an edge over the axis: it touches the crown there, and nothing is lost.

    On the rising side the cutter's body lies over the space that follows, not over the one before.
    """
    return say(
        "Turn the work the working way: one side of it comes up. Touch the rising side of the "
        "work with the cutter's upright side. Lower the table clear. Move across {size}: "
        "the upright side stands over the axis.",
        size=said(Millimetres(diameter / 2), shop.unit),
    )


def move_on(size: Millimetres, there: str, shop: Shop) -> str:
    """From where the top was touched: a depth counts from the crown, so the crown comes first."""
    return say(
        "Lower the table clear. Move on across {size}, the same way. {There}.",
        size=said(size, shop.unit), There=capital(there),
    )  # fmt: skip


def centre_figures(diameter: Millimetres, shop: Shop) -> tuple[Figure, ...]:
    """How far to go from touching the side to the centre, in mm: half of work and cutter; nothing
    where the cutter's width is not known.
    """
    wide = shop.cutter.width
    if wide is None:
        return ()
    return (
        Figure("from touching to centre", shown((Millimetres((diameter + wide) / 2)), shop.unit)),
    )


def limit_figures(what: str, limits: Limits | None, unit: Unit) -> tuple[Figure, ...]:
    """The limits of a size, where the job states any."""
    return () if limits is None else (Figure(f"limits {what}", limits.shown(unit)),)


def touch_point() -> str:
    """A tool that is drawn, not turned: it scratches as it stands."""
    return say("Touch the top of the work with the point, and set the depth dial to "
               "nought.")  # fmt: skip


def point_held() -> str:
    """The item of the set-up for a point that is drawn through the work."""
    return say("Cutter spindle stopped and held: the point is drawn through, not turned.")


def clamped() -> str:
    """Said after the depths: a slide that creeps in the cut spoils what was set."""
    return say("Saddle and knee clamped in every cut.")


def touch_top() -> str:
    """The item of the set-up from which depths are counted."""
    return say("Touch the top of the work with the turning cutter, and set the depth dial to "
               "nought.")  # fmt: skip


def upright() -> str:
    """The item of the set-up for work whose axis stands upright."""
    return say("Axis upright: the head tilted to ninety degrees, or the rotary table lying flat.")


def check_upright(shop: Shop, key: str, found: Findings) -> None:
    """A head that tilts, but not so far, can't do face work; a rotary table (0 to 0) lies flat."""
    least, most = shop.head.tilt_degrees
    if shop.head.plate_drive == "block":
        found.refuse(key, f"this work needs the axis upright, and {shop.head.name} lies in a vice: "
                     "a head that tilts to 90 degrees, or a rotary table")  # fmt: skip
        return
    if not least == most == 0 and most < 90:
        found.refuse(
            key,
            f"this work needs the axis upright, and {shop.head.name} tilts to "
            f"{float(most):g} degrees: a head that tilts to 90, or a rotary table",
        )


def trial_moves(cuts: int) -> str:
    """The item of the set-up with the trial round through all moves."""
    return say(
        "Trial round: go through all moves once with the cutter clear, and count them: "
        "{count}. Only then cut.",
        count=number(cuts),
    )


def trial_marks(cuts: int) -> str:
    """The item of the set-up with a light touch at every cut."""
    return say(
        "Trial marks: a light touch at every cut, all the way round, and count them: "
        "{count}. Only then cut to depth.",
        count=number(cuts),
    )


def block_trial_marks(cuts: int) -> str:
    """The same in a collet block, to which the hand goes between two marks."""
    return say(
        "Trial marks: a light touch on every face, and count them: {count}. Stop the cutter before "
        "each turn of the block; vice tight again. Only then cut to depth.",
        count=number(cuts),
    )


def depth_step(words: tuple[str, ...], by_knee: bool = False) -> str:
    """The depths of the passes, for the ear. `by_knee`: it is the feed itself, and not clamped."""
    held = "" if by_knee else clamped()
    if len(words) == 1:
        return sentences(say("Depth: {depth}.", depth=words[0]), held)
    each = [say("Pass {n}, {depth}.", n=number(n), depth=depth) for n, depth in enumerate(words, 1)]
    return sentences(say("Depth from the first touch."), *each, held)


def check_cutter_in_bar(
    depth: Millimetres, radius: Millimetres, key: str, f: Findings, unit: Unit
) -> None:
    """A depth that reaches the axis cuts the part in two."""
    if depth >= radius:
        f.refuse(
            key,
            f"a depth of {shown(depth, unit)} reaches the axis of the bar: "
            f"less than {shown(radius, unit)} can be cut",
        )


def sentence(*parts: str) -> str:
    """Parts in one line, each begun with a capital; empty ones are left out."""
    return " ".join(capital(part) for part in parts if part)
