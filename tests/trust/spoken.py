"""Understands the session's spoken sentences as the person at the machine does: by their words."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from num2words import num2words

_SMALL = {str(num2words(n)).replace(" and ", " ").replace(",", ""): n for n in range(2000)}
_NUMBER = r"([a-z][a-z -]*?)"


@dataclass(frozen=True)
class Asked:
    """One thing to do or to look at. `turns`, `holes` and `circle` go with "move"."""

    what: str
    turns: int = 0
    holes: int = 0
    circle: int = 0
    number: Fraction = Fraction(0)


class NotUnderstood(AssertionError):
    """A sentence that tells the person to do something unknown here."""


def value(words: str) -> Fraction:
    """ "seventeen point one" -> 17.1."""
    whole, _, tenth = words.lower().partition(" point ")
    if whole not in _SMALL:
        raise NotUnderstood(words)
    return Fraction(_SMALL[whole]) + Fraction(_SMALL[tenth] if tenth else 0, 10)


_MOVE = re.compile(
    rf"(?:{_NUMBER} turns?)?(?:(?:, then )?{_NUMBER} holes? on the {_NUMBER} circle)?\.",
    re.IGNORECASE,
)
_SCALE = re.compile(rf"scale should read {_NUMBER} degrees?\.", re.IGNORECASE)
_RULE = re.compile(rf"{_NUMBER} degrees? off, no less, is one turn miscounted", re.IGNORECASE)
_PLACE = re.compile(rf"the hole of cut {_NUMBER}[,.]", re.IGNORECASE)
_CUT = re.compile(rf"Cut {_NUMBER} of ", re.IGNORECASE)
# Done in the order in which a sentence names them; a reading, the lock and the guard come last.
_SIGNS = (
    ("Too soon.", "again"),
    ("Not now.", "refused"),
    ("Item ", "item"),
    ("Pin at the second arm?", "look at arm"),
    ("Swing the arms on", "arms"),
    ("Cutter clear, then lock off", "unlock"),
    ("Take the lock off first", "unlock"),
    ("back half a turn", "back off"),
    ("Now come up in the working direction", "come up"),
    ("All the way round", "closing"),
    ("Check the position", "position"),
    ("Try the stopped cutter in the last cut", "try cutter"),
    ("Don't turn it again.", "made already"),
    ("Stop, and decide.", "too small"),
    ("nothing is left to cut", "spare pass"),
    ("is next?", "next cut"),
    ("Paused at", "paused"),
    ("Finished.", "finished"),
)
_LAST_SIGNS = (
    ("Lock the spindle.", "lock"),
    ("Guard closed, hands clear?", "guard"),
)


@cache
def asked(text: str) -> tuple[Asked, ...]:
    """What one spoken text asks for, in order. Raises NotUnderstood for a strange one."""
    heard = sorted((text.index(sign), what) for sign, what in _SIGNS if sign in text)
    found = [Asked(what) for _, what in heard]
    kinds = {each.what for each in found}
    place = _PLACE.search(text)
    if kinds & {"position", "come up"}:
        number = value(place[1]) if place else Fraction(0)  # 0: the first hole again
        found = [Asked(each.what, number=number) for each in found]
    if rule := _RULE.search(text):
        found.append(Asked("turn rule", number=value(rule[1])))
    if scale := _SCALE.search(text):
        found.append(Asked("scale", number=value(scale[1])))
    elif "scale should be at its first reading" in text or "scale at its first" in text:
        found.append(Asked("scale"))
    found += [Asked(what) for sign, what in _LAST_SIGNS if sign in text]
    if cut := _CUT.match(text.removeprefix("Too soon. ")):
        found.append(Asked("cut", number=value(cut[1])))
    move = _MOVE.fullmatch(text.removeprefix("Too soon. "))
    if move and any(move.groups()):
        turns, holes, circle = (int(value(words)) if words else 0 for words in move.groups())
        found.append(Asked("move", turns, holes, circle))
    return tuple(found)
