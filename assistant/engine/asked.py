"""The one table of what a person may ask or answer: phrase, key, button, where it is told.

Keys, the help line, the page's buttons, the phrases, the rows of README and manual and the lists of
the tests are made from it. What a question is answered with stands in `wording.REPLIES`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum, StrEnum, auto

from assistant.words.language import mark, say


class Command(StrEnum):
    """What a spoken phrase or a key asks for. The value is the name used in the journal."""

    CHECKED = "checked"  # a set-up item is done
    RELEASED = "released"  # the spindle lock is off
    PINNED = "pinned"  # the move is made, the pin is in its hole
    LOCKED = "locked"  # the spindle lock is on
    GUARDED = "guarded"  # guard closed, hands clear
    CUT_DONE = "cut-done"  # the cut is made and the cutter is clear
    PLACE_RIGHT = "place-right"  # the spindle stands where the last certain state says
    CLOSED_UP = "closed-up"  # the last move came back to the first hole
    BACKED_OFF = "backed-off"  # half a turn back, after an overshoot
    SIZE_RIGHT = "size-right"  # the size was read back as measured
    UNMEASURED = "unmeasured"  # go on without a size
    WHAT_NEXT = "what-next"
    SAY_AGAIN = "say-again"
    WHERE_AM_I = "where-am-i"
    HOW_MANY_LEFT = "how-many-left"
    GO_BACK = "go-back"
    PAUSE = "pause"
    CARRY_ON = "carry-on"
    LOST_COUNT = "lost-count"
    OVERSHOT = "overshot"
    NOTE = "note"
    FEWER_WORDS = "fewer-words"
    MORE_WORDS = "more-words"
    NEXT_PART = "next-part"  # of a batch: the one in hand is made


class Intent(StrEnum):
    """What the person wants, whichever device it came from. A command that answers nothing has an
    intent of the same value."""

    CONFIRM = "confirm"  # the answer to what was just asked
    WHAT_NEXT = "what-next"
    SAY_AGAIN = "say-again"
    WHERE_AM_I = "where-am-i"
    HOW_MANY_LEFT = "how-many-left"
    NOTE = "note"
    GO_BACK = "go-back"
    PAUSE = "pause"
    PAUSE_AND_WHERE = "pause-and-where"
    LOST_COUNT = "lost-count"
    OVERSHOT = "overshot"
    FEWER_WORDS = "fewer-words"
    MORE_WORDS = "more-words"
    SIZE = "size"  # a figure was given: a size, or the number of a cut
    CARRY_ON = "carry-on"  # all the same
    SCRAP = "scrap"
    TRIAL = "trial"  # the trial round is to be called
    NEXT_PART = "next-part"  # of a batch
    RESTART = "restart"


class Act(StrEnum):
    """What has a key and no phrase of its own."""

    PRESS = "press"  # the answer to what was just asked
    LEAVE = "leave"
    FIGURE = "figure"  # a size, or the number of a cut
    SCRAP = "scrap"
    WRITE_NOTE = "write-note"
    TRIAL = "trial"


class Use(Enum):
    """What a command does."""

    ANSWER = auto()  # confirms the one thing that it names
    QUESTION = auto()  # answered at once; its answer is what "say again" repeats
    BESIDE = auto()  # taken at once, told beside the question, which is not asked anew
    WAY = auto()  # goes another way through the table


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """Where it is to be found: each said outright, "" on purpose alone.

    `key` is one character; `hint` stands beside it at the foot of the screen; `button` is on the
    page, under More; `wants` is what README and manual say that it is for.
    """

    key: str
    hint: str
    button: str
    wants: str
    pedal: str = ""  # what the foot does for it, as README tells it
    aloud: str = ""  # what is said for it, as README tells it, where it has no phrase of its own


@dataclass(frozen=True, slots=True)
class Asked:
    """One thing that is listened for: two to four words, unlike all others in sound.

    `instead` are English phrases that a person may take in its place, all in the recogniser's
    dictionary. `learned`: the shipped head was trained for the phrase; until then it goes by
    its sounds alone.
    """

    use: Use
    phrase: str
    instead: tuple[str, str]
    shown: Shown | None = None  # None: an answer, which has the one key and button for a press
    learned: bool = True
    also: tuple[str, ...] = ()  # other ways to say it; `phrase` is the one that is named


def _answer(phrase: str, *instead: str, also: tuple[str, ...] = ()) -> Asked:
    one, other = instead
    return Asked(Use.ANSWER, phrase, (one, other), also=also)


COMMANDS: Mapping[Command, Asked] = {
    Command.CHECKED: _answer("set and checked", "that is in order", "ready for the next"),
    Command.RELEASED: _answer("lock is off", "clamp let go", "free to turn now"),
    Command.PINNED: _answer("pin is home", "dropped into place", "plunger found its hole"),
    Command.LOCKED: _answer("spindle locked", "brake holds fast", "clamped up hard"),
    Command.GUARDED: _answer("guard closed", "shield down and clear", "cover is across"),
    Command.CUT_DONE: _answer("cut done", "finished that tooth", "one more is made"),
    Command.PLACE_RIGHT: _answer(
        "place is certain", "standing where it should", "this spot agrees"
    ),
    Command.CLOSED_UP: _answer("back at the start", "full circle made", "once round again"),
    Command.BACKED_OFF: _answer("half turn back", "eased off a little", "wound it backward"),
    Command.SIZE_RIGHT: _answer("reading is true", "that figure stands", "measured it so"),
    Command.UNMEASURED: _answer(
        "leave it unmeasured", "skip the measuring", "nothing to gauge here"
    ),
    Command.WHAT_NEXT: Asked(
        Use.QUESTION,
        "what is next",
        ("tell me the next thing", "which job follows"),
        # No button: what is awaited stands largest on the page.
        Shown(key="w", hint=mark("what next"), button="", wants="know what comes next"),
    ),
    Command.SAY_AGAIN: Asked(
        Use.QUESTION,
        "say again",
        ("repeat that for me", "come again please"),
        Shown(
            key="r",
            hint=mark("say again"),
            button="",  # one of the three that always stand there
            wants="hear it again",
            pedal="hold for half a second",
        ),
    ),
    Command.WHERE_AM_I: Asked(
        Use.QUESTION,
        "where am I",
        ("give me my bearings", "which tooth is this"),
        Shown(
            key="?",
            hint=mark("where am I"),
            button=mark("Where am I"),
            wants="know where you are",
            pedal="hold for two seconds",
        ),
    ),
    Command.HOW_MANY_LEFT: Asked(
        Use.QUESTION,
        "how many left",
        ("count what remains", "teeth still to go"),
        Shown(
            key="l",
            hint=mark("how many left"),
            button=mark("How many left"),
            wants="know how many are left, and how long",
        ),
    ),
    Command.GO_BACK: Asked(
        Use.WAY,
        "go back one",
        ("undo that one step", "take it back once"),
        Shown(key="b", hint=mark("back one"), button=mark("Back one"), wants="go back one step"),
    ),
    Command.OVERSHOT: Asked(
        Use.WAY,
        "went past the hole",
        ("turned it too much", "slipped by the mark"),
        Shown(
            key="o",
            hint=mark("overshot"),
            button=mark("Went past the hole"),
            wants="mend an overshoot",
        ),
    ),
    Command.LOST_COUNT: Asked(
        Use.WAY,
        "lost my count",
        ("muddled the number", "no idea how far"),
        Shown(
            key="x",
            hint=mark("lost count"),
            button=mark("Lost my count"),
            wants="find the place again",
        ),
    ),
    Command.PAUSE: Asked(
        Use.WAY,
        "pause the job",
        ("hold everything there", "give me five minutes"),
        Shown(
            key="p",
            hint=mark("pause"),
            button="",  # one of the three that always stand there
            wants="pause",
            pedal="hold for two seconds",
        ),
    ),
    Command.CARRY_ON: Asked(
        Use.WAY,
        "carry on now",
        ("ready to resume work", "off we go again"),
        Shown(
            key="c",
            hint=mark("carry on"),
            button=mark("On all the same"),
            wants="carry on after a pause",
            pedal="press",
        ),
    ),
    Command.NOTE: Asked(
        Use.BESIDE,
        "make a note",
        ("write this down", "remember this for later"),
        # No button: a note without words is for hands that are not free.
        Shown(key="", hint="", button="", wants="mark the place in the log"),
    ),
    Command.FEWER_WORDS: Asked(
        Use.BESIDE,
        "fewer words",
        ("be brief please", "only what changes"),
        Shown(
            key="-",
            hint=mark("fewer words"),
            button=mark("Fewer words"),
            wants="have fewer words",
        ),
        learned=False,
    ),
    Command.MORE_WORDS: Asked(
        Use.BESIDE,
        "more words",
        ("whole sentences please", "speak at length"),
        Shown(key="+", hint=mark("more words"), button=mark("More words"), wants="whole sentences"),
        learned=False,
    ),
    Command.NEXT_PART: Asked(
        Use.WAY,
        "next part",
        ("put in another blank", "begin a fresh one"),
        Shown(
            key="g",
            hint=mark("next part"),
            button=mark("Next part"),
            wants="go on to the next part of a batch",
            pedal="press",
        ),
        learned=False,
    ),
}

ACTS: Mapping[Act, Shown] = {
    Act.PRESS: Shown(
        key=mark("Enter"),
        hint=mark("done"),
        button="",
        wants="answer what was just asked",
        pedal="press",
        aloud="the phrase that names it: “spindle locked”, “guard closed”, “cut done”",
    ),
    Act.LEAVE: Shown(key="q", hint=mark("leave"), button="", wants="leave, and keep the job"),
    Act.FIGURE: Shown(
        key="m",
        hint=mark("size or cut number"),
        button="",  # it stands beside the field that it is typed in
        wants="give a size that it asked for, or the cut that is next after “lost my count”",
        aloud="the figure: “nineteen point zero five”",
    ),
    Act.SCRAP: Shown(
        key="s", hint=mark("scrap"), button=mark("Scrap"), wants="give up a part that is too small"
    ),
    Act.WRITE_NOTE: Shown(key="n", hint=mark("note"), button="", wants="write a note"),
    Act.TRIAL: Shown(
        key="t",
        hint=mark("trial round"),
        button=mark("Trial round: call it, leave it"),
        wants="have the trial round called, at its item in the set-up, and in it: leave it",
        pedal="hold for half a second",
        aloud="“lock is off”; to leave it “set and checked”",
    ),
}


def used_as(*uses: Use) -> tuple[Command, ...]:
    """The commands of these uses, in the order of the table."""
    return tuple(command for command, row in COMMANDS.items() if row.use in uses)


INTENTS: Mapping[Command, Intent] = {
    command: Intent(command) for command in COMMANDS if command not in used_as(Use.ANSWER)
}
"""What a command means where it answers nothing."""

_WAYS = [(command, row.shown) for command, row in COMMANDS.items() if row.shown]
_ALL: Mapping[Command | Act, Shown] = dict(
    [(act, ACTS[act]) for act in (Act.PRESS, Act.LEAVE)] + [*_WAYS] + [*ACTS.items()]
)
KEYS: Mapping[str, Command] = {shown.key: command for command, shown in _WAYS if shown.key}


def key_of(what: Command | Act) -> str:
    """The key that stands for it. Raises KeyError for an answer, which has none of its own."""
    return _ALL[what].key


def everything() -> Mapping[Command | Act, Shown]:
    """All that may be asked or given beside the answers, in the order in which it is listed."""
    return _ALL


def on_the_page() -> Mapping[Command | Act, str]:
    """What has a button under More, and its label."""
    return {what: shown.button for what, shown in _ALL.items() if shown.button}


def help_line() -> str:
    """Every key with what it does, in the language in force."""
    shown = [each for each in _ALL.values() if each.key]
    return "  ".join(f"{say(each.key)} {say(each.hint)}" for each in shown)
