"""Which head: one that is known, by ratio and circles, or a description of one's own."""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path

from assistant.files.places import config_folder
from assistant.setup import head_checks
from assistant.setup.head_draft import Draft, drafts, plate_name
from assistant.setup.head_file import write_head
from assistant.setup.talk import Talk
from assistant.words.choice import Choice
from assistant.words.plain_text import plain
from solver import Head, Refused, load_head, number_from_text

OWN = "own"
_NAME = re.compile(r"[a-z0-9][a-z0-9-]{0,39}")
_DRIVES = (
    Choice("fixed", "the plate is held fast"),
    Choice("pinned", "the plate can be turned with the crank, against a back pin"),
    Choice("geared", "change gears from the spindle can turn the plate"),
)
_LONGEST = 20  # of a plate's name: it is spoken in the session
_ROW = "divisions, whole turns, holes, circle"


def choose_head(talk: Talk, folder: Path, present: str) -> str:
    """The name of the head to use; "" keeps none. `folder` holds the person's own heads.

    Raises Left; a description begun is kept in the folder.
    """
    for draft in drafts(folder):
        if talk.yes(f"A head was begun: {draft.name}. Go on with it?", True):
            return describe(talk, draft)
    known = heads_by_name(folder)
    default = str(known[present].worm_ratio) if present in known else "40"
    ratio = _number(talk, "How many turns of the crank turn the spindle once?", default)
    fitting = {name: head for name, head in known.items() if head.worm_ratio == ratio}
    choices = [Choice(name, summary(head)) for name, head in fitting.items()]
    choices.append(Choice(OWN, "none of these: I count the holes of my plates"))
    best = present if present in fitting else next(iter(fitting), OWN)
    name = talk.choose("Which one is yours?", choices, best)
    if name != OWN:
        return name
    return describe(talk, Draft(folder, _free_name(talk, known, folder), str(ratio)))


def heads_by_name(folder: Path) -> dict[str, Head]:
    """The program's heads and the person's own, by name; faulty files are passed over."""
    found: dict[str, Head] = {}
    for place in (config_folder() / "heads", folder):
        for file in sorted(place.glob("*.toml")):
            try:
                found.setdefault(file.stem, load_head(file))
            except Refused:
                continue
    return found


def summary(head: Head) -> str:
    """ "three-plate-40: plates 15-20 / 21-33 / 37-49, plate fixed"."""
    plates = " / ".join(_circles(plate.circles) for plate in head.plates)
    if head.handwheel:
        plates = f"handwheel, {head.handwheel.division_minutes}′ a division"
    direct = f", direct {head.direct_circle[0]}" if head.direct_circle else ""
    return f"{head.name}: {plates or 'no plates'}, plate {head.plate_drive}{direct}"


def _circles(circles: tuple[int, ...]) -> str:
    return " ".join(map(str, circles))


def _free_name(talk: Talk, known: dict[str, Head], folder: Path) -> str:
    while True:
        said = talk.ask("A short name for it, like shop-head?", "my-head").lower().replace(" ", "-")
        if not _NAME.fullmatch(said):
            talk.show(f"  {said!r}: use letters a to z, figures and hyphens, at most 40.")
        elif not (folder / f"{said}.toml").exists():
            if said not in known:
                return said
            talk.show(f"  {said!r} is a head of the program: choose another name.")
        elif talk.yes(f"{said} is there. Describe it anew? The old file is kept.", False):
            return said


def describe(talk: Talk, draft: Draft) -> str:
    """Ask for what the draft does not hold yet, write the head, and give its name."""
    for step in (_about, _turns, _plates, _chart, _direct, _drive, _tilt, _scale):
        draft.save()
        step(talk, draft)
    file, head = write_head(draft)
    draft.remove()
    plates = "1 plate" if len(head.plates) == 1 else f"{len(head.plates)} plates"
    talk.tell(f"The head is described: {plates}. It is in {file}")
    return draft.name


def _about(talk: Talk, draft: Draft) -> None:
    if draft.describe is None:
        said = talk.ask("What is it, in a few words?", f"{draft.worm_ratio} to 1 head")
        draft.describe = plain(said)  # a letter that no file can hold would lose all the answers


def _turns(talk: Talk, draft: Draft) -> None:
    """The ratio once more, by counting: the figure on which every move rests."""
    while draft.crank_turns is None:
        said = talk.ask(
            "Check it: mark the spindle, turn the crank until the spindle has gone round once. "
            "How many turns? (Enter: not counted)"
        )
        if said:
            try:
                counted = head_checks.head_number(said)
            except Refused as error:
                talk.show(f"  {error}")
                continue
            if fault := head_checks.ratio_fault(head_checks.head_number(draft.worm_ratio), counted):
                talk.tell(f"  That does not agree: {fault}.")
                ratio = _number(talk, "Which ratio is right?", str(counted))
                draft.worm_ratio = str(ratio)
                continue
        draft.crank_turns = said


def _plates(talk: Talk, draft: Draft) -> None:
    if not draft.plates_done:
        talk.tell("Now the plates. Count the circles of each side from the inside out.")
        talk.show("  Where a name or a number is stamped on it, answer with that instead of yes.")
    while not draft.plates_done:
        if not draft.counting:
            nth = len(draft.plates)
            side = f"Is there {'another' if nth else 'a'} plate, or another side of one?"
            name = _stamped(talk, draft, side, "no" if nth else "yes")
            if name is None:
                draft.plates_done = True
                return
            del draft.stamped[nth:]
            draft.stamped.append(name)
            draft.plates.append([])
            draft.counting = True
            draft.save()
        _circles_of(talk, draft)
        draft.save()


def _stamped(talk: Talk, draft: Draft, question: str, default: str) -> str | None:
    """What is stamped on the next plate, "" for nothing; None where there is no more of them."""
    while True:
        said = plain(talk.ask(f"{question} (yes, no, or what is stamped on it)", default)).strip()
        lower = said.lower()
        if lower in ("n", "no"):
            return None
        if lower in ("y", "yes"):
            return ""
        if len(said) > _LONGEST:
            talk.show(f"  {said!r}: give at most {_LONGEST} letters or figures, as it is stamped.")
        elif lower in (name.lower() for name in draft.stamped[: len(draft.plates)]):
            talk.show(
                f"  {said!r} is another plate's: add what tells the two apart, like {said} back."
            )
        else:
            return said


def _circles_of(talk: Talk, draft: Draft) -> None:
    plate = draft.plates[-1]
    name = plate_name(draft, len(draft.plates) - 1)
    while True:
        had = f" So far {' '.join(map(str, plate))}." if plate else ""
        said = talk.ask(
            f"Plate {name}:{had} Holes of the next circle? (Enter: no more; -: not the last one)"
        )
        if not said:
            break
        for word in said.replace(",", " ").split():
            if not _one_circle(talk, draft, word):
                break
        draft.save()
    if not plate:
        draft.plates.pop()
    draft.counting = False


def _one_circle(talk: Talk, draft: Draft, word: str) -> bool:
    plate, others = draft.plates[-1], draft.plates[:-1]
    if word == "-":
        del plate[-1:]
        return True
    if not (word.isascii() and word.isdigit() and len(word) < 6):
        talk.show(f"  {word!r}: give whole numbers of holes.")
        return False
    holes = int(word)
    if fault := head_checks.circle_fault(holes, plate):
        talk.tell(f"  That can't be: {fault}.")
        return False
    doubt = head_checks.circle_doubt(holes, plate, others)
    if doubt and not talk.yes(f"  {doubt}. Is it right?", False):
        return False
    plate.append(holes)
    return True


def _chart(talk: Talk, draft: Draft) -> None:
    """Rows of the head's own chart prove ratio and plates together."""
    odd = ""
    while not draft.rows_done:
        said = talk.ask(f"A row of the head's own chart, if it has one: {_ROW}? (Enter: none)")
        if not said:
            doubt = f"The row {odd} does not agree with what you described. Go on all the same?"
            draft.rows_done = not odd or talk.yes(doubt, False)
            continue
        figures = re.findall(r"\d+", said)
        if len(figures) != 4:
            talk.show(f"  {said!r}: give four numbers, {_ROW}, like 21 1 19 21.")
            continue
        divisions, turns, holes, circle = map(int, figures)
        row = (divisions, turns, holes, circle)
        ratio = head_checks.head_number(draft.worm_ratio)
        if fault := head_checks.chart_fault(ratio, draft.plates, row):
            talk.tell(f"  That does not agree: {fault}.")
            odd = said
            _mend(talk, draft)
        else:
            odd = ""
            talk.show("  That agrees.")


def _mend(talk: Talk, draft: Draft) -> None:
    """After a row that does not agree: what was wrong?"""
    what = talk.choose(
        "What shall be mended?",
        [
            Choice("row", "nothing yet: I read the row again"),
            Choice("ratio", "the ratio"),
            Choice("plate", "a plate is missing: I count one more"),
            Choice("again", "a count: I count all plates again"),
        ],
        "row",
    )
    if what == "ratio":
        draft.worm_ratio = str(_number(talk, "Turns of the crank for one of the spindle?", ""))
        draft.crank_turns = None
        _turns(talk, draft)
    elif what in ("plate", "again"):
        if what == "again":
            draft.plates.clear()
        draft.plates_done = False
        _plates(talk, draft)


def _direct(talk: Talk, draft: Draft) -> None:
    while draft.direct_circle is None or not (draft.direct_circle or draft.plates):
        draft.direct_circle = _none_or_circle(talk)
        if not (draft.direct_circle or draft.plates):
            talk.tell("  No plate and no direct plate: there are no holes to index by.")
            draft.plates_done = False
            _plates(talk, draft)


def _none_or_circle(talk: Talk) -> int:
    while True:
        holes = talk.whole("Holes of the direct plate on the spindle? (0: none)", 24, 0, 1000)
        if holes != 1:
            return holes
        talk.show("  1: a circle has 2 or more holes; 0 is for none.")


def _drive(talk: Talk, draft: Draft) -> None:
    if draft.plate_drive is None:
        draft.plate_drive = talk.choose("How is the plate held?", _DRIVES, "fixed")
        draft.save()
    if draft.plate_drive != "geared":
        return
    while draft.change_gears is None:
        said = talk.ask("Teeth of all change gears, with spaces?").replace(",", " ").split()
        good = said and all(word.isascii() and word.isdigit() for word in said)
        if good and all(2 <= int(word) <= 1000 for word in said):
            draft.change_gears = sorted(int(word) for word in said)
        else:
            talk.show(
                "  Give whole numbers, a gear that you have twice written twice, like 24 24 28 32."
            )
    draft.save()
    if draft.idlers_for_with is None:
        draft.idlers_for_with = talk.whole(
            "With one pair of gears: how many idlers turn the plate the same way as the crank? "
            "Turn the crank and watch.", 1, 0, 2,
        )  # fmt: skip


def _tilt(talk: Talk, draft: Draft) -> None:
    if draft.tilt_degrees is None:
        below = talk.whole("How far does the head tilt below level, in degrees?", 0, 0, 90)
        draft.tilt_degrees = [-below]
        draft.save()
    if len(draft.tilt_degrees) < 2:
        draft.tilt_degrees.append(talk.whole("And how far up from level?", 90, 0, 180))


def _scale(talk: Talk, draft: Draft) -> None:
    while draft.scale_degrees is None:
        said = talk.ask("Smallest division of the spindle's degree scale? (0: no scale)", "1")
        try:
            good = 0 <= number_from_text(said) <= 90
        except Refused:
            good = False
        if good:
            draft.scale_degrees = said
        else:
            talk.show(f"  {said!r}: give degrees, like 1, 0.5 or 1/2.")


def _number(talk: Talk, question: str, default: str) -> Fraction:
    while True:
        said = talk.ask(question, default)
        try:
            return head_checks.head_number(said)
        except Refused as error:
            talk.show(f"  {error}")
