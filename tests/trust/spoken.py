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


# As it is called in the short cycle, with what belongs to it on both sides.
_CALL = re.compile(
    rf"Lock off\. (?:(?:{_NUMBER} turns?)?(?:, )?(?:{_NUMBER} on {_NUMBER})?)(?:, [^.]+)?\. ",
    re.IGNORECASE,
)
_STOP = re.compile(r" Set the stop: [^.]+\.")
"""What is set for a cut alone: it moves nothing at the head."""
_CALL_IN_FULL = re.compile(r"Lock off\. (.+?\.) (?=Pin |Swing |The scale |Lock )")
_MOVE = re.compile(
    rf"(?:{_NUMBER} turns?)?(?:(?:, then )?{_NUMBER} holes? on the {_NUMBER} circle)?\.",
    re.IGNORECASE,
)
_SCALE = re.compile(rf"scale should read {_NUMBER} degrees?\.", re.IGNORECASE)
_RULE = re.compile(
    rf"{_NUMBER} degrees? off, no more, no less, is one turn miscounted", re.IGNORECASE
)
_PLACE = re.compile(rf"the hole of cut {_NUMBER}[,.]", re.IGNORECASE)
_SHORT_SCALE = re.compile(rf"Scale {_NUMBER}\.")
_MARK = re.compile(rf"Pin {_NUMBER}(?: holes?)? (past|short of) the mark\.", re.IGNORECASE)
_SHORT_CUT = re.compile(r"[Cc]ut(?:, [^.]+)?\.")
_CUT = re.compile(rf"Cut {_NUMBER} of ", re.IGNORECASE)
# Done in the order in which a sentence names them; a reading, the lock and the guard come last.
_SIGNS = (
    ("Too soon.", "again"),
    ("Not now.", "refused"),
    ("Item ", "item"),
    ("Pin at the second arm?", "look at arm"),
    ("Swing the arms on", "arms"),
    ("Cutter clear, then lock off", "unlock"),
    ("Lock off. ", "unlock"),
    ("Arms. ", "look at arm"),
    ("Arms. ", "arms"),
    ("Arms, lock.", "look at arm"),
    ("Arms, lock.", "arms"),
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
    ("Paused in", "paused"),
    ("Finished.", "finished"),
)
_LAST_SIGNS = (
    ("Lock lever tight?", "lever"),
    ("Lever, guard?", "lever"),
    ("Lever, guard?", "guard"),
    ("Lock the spindle.", "lock"),
    (" Lock.", "lock"),
    ("Arms, lock.", "lock"),
    ("Guard?", "guard"),
    ("Guard closed, hands clear?", "guard"),
)


_SEEN = re.compile(r"(Lever tight, guard shut|Tight and shut|Guard shut): ")


@cache
def asked(text: str) -> tuple[Asked, ...]:
    """What one spoken text asks for, in order. Raises NotUnderstood for a strange one."""
    text = _STOP.sub("", text)
    heard = sorted(
        ((text.index(sign), n, what) for n, (sign, what) in enumerate(_SIGNS) if sign in text),
    )
    found = [Asked(what) for _, _, what in heard]
    if "unlock" in {each.what for each in found} and (called := _called(text)):
        found.insert(1, called)
    kinds = {each.what for each in found}
    place = _PLACE.search(text)
    if kinds & {"position", "come up"}:
        number = value(place[1]) if place else Fraction(0)  # 0: the first hole again
        found = [Asked(each.what, number=number) for each in found]
    if rule := _RULE.search(text):
        found.append(Asked("turn rule", number=value(rule[1])))
    found += _witnesses(text)
    if scale := _SCALE.search(text) or _SHORT_SCALE.search(text):
        found.append(Asked("scale", number=value(scale[1])))
    elif "scale should be at its first reading" in text or "scale at its first" in text:
        found.append(Asked("scale"))
    found += [Asked(what) for sign, what in _LAST_SIGNS if sign in text]
    again = text.removeprefix("Too soon. ").removeprefix("That was quick. ")
    if seen := _SEEN.match(again):
        found += [Asked("see lever")] * (seen[1] != "Guard shut") + [Asked("see guard")]
        again = again[seen.end() :]
    if cut := _CUT.match(again):
        found.append(Asked("cut", number=value(cut[1])))
    elif _SHORT_CUT.fullmatch(again) or "Was it a cut?" in text:
        found.append(Asked("cut"))
    if move := _move(_MOVE.fullmatch(again)):
        found.append(move)
    return tuple(found)


def _witnesses(text: str) -> list[Asked]:
    """Where the pin should be from the hole that was marked."""
    found = []
    if mark := _MARK.search(text):
        found.append(Asked("mark", number=value(mark[1]) * (1 if mark[2] == "past" else -1)))
    elif "Pin in the marked hole." in text or "Pin at the mark." in text:
        found.append(Asked("mark"))
    return found


def _called(text: str) -> Asked | None:
    """The move within a call, in few words or in whole ones."""
    if in_full := _CALL_IN_FULL.search(text):
        return _move(_MOVE.fullmatch(in_full[1])) or _move(_CALL.search(text))
    return _move(_CALL.search(text))


def _move(found: re.Match[str] | None) -> Asked | None:
    if found is None or not any(found.groups()):
        return None
    turns, holes, circle = (int(value(words)) if words else 0 for words in found.groups())
    return Asked("move", turns, holes, circle)
