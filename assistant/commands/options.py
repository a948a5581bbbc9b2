"""Options of the commands that must start quickly: read from one table, shown by `--help`."""

from __future__ import annotations

from assistant.errors import WrongUse

# Name, placeholder of its value ("" for a switch), help.
Option = tuple[str, str, str]


class Given:
    """The options that were given; a switch has the value ""."""

    def __init__(self, values: dict[str, str]) -> None:
        self._values = values

    def __contains__(self, name: str) -> bool:
        return name in self._values

    def text(self, name: str) -> str | None:
        """What was given for an option; None where it was not."""
        return self._values.get(name)

    def whole(self, name: str, default: int) -> int:
        """A whole number. Raises WrongUse."""
        text = self._values.get(name)
        return default if text is None else whole_number(name, text)


def whole_number(name: str, text: str) -> int:
    """Raises WrongUse for anything but digits."""
    bare = text.strip()
    if not (bare.isascii() and bare.removeprefix("-").isdigit() and len(bare) <= 18):
        shown = text if len(text) <= 30 else text[:30] + "..."
        raise WrongUse(f"{name} {shown!r}: give a whole number, like {name} 21")
    return int(bare)


def read_words(command: str, table: tuple[Option, ...], words: list[str]) -> Given:
    """The words of a command line by the table. Raises WrongUse in one line with the cure."""
    see = f"see tallyhand {command} --help"
    takes = {name: bool(value) for name, value, _ in table}
    values: dict[str, str] = {}
    rest = list(words)
    while rest:
        word = rest.pop(0)
        name, equals, value = word.partition("=")
        if name not in takes:
            raise WrongUse(f"tallyhand {command}: {_unknown(word, list(takes))}; {see}")
        if name in values:
            raise WrongUse(f"tallyhand {command}: {name} is given twice; {see}")
        if takes[name] and not equals:
            if not rest or rest[0] in takes:
                raise WrongUse(f"tallyhand {command}: {name} needs a value; {see}")
            value = rest.pop(0)
        elif equals and not takes[name]:
            raise WrongUse(f"tallyhand {command}: {name} takes no value; {see}")
        values[name] = value
    return Given(values)


def _unknown(word: str, known: list[str]) -> str:
    if not word.startswith("-"):
        return f"{word!r} belongs to no option"
    from difflib import get_close_matches

    near = get_close_matches(word, known, 1)
    return f"no option {word}" + (f", did you mean {near[0]}?" if near else "")


def help_text(command: str, what: str, table: tuple[Option, ...], example: str) -> str:
    """The text of `--help`."""
    rows = [(f"{name} {value}".strip(), meaning) for name, value, meaning in table]
    width = max(len(left) for left, _ in rows) + 2
    lines = [f"usage: tallyhand {command} [options]", "", what, ""]
    lines += [f"  {left:<{width}}{meaning}" for left, meaning in rows]
    return "\n".join([*lines, "", f"example: {example}"])
