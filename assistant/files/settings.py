"""The user's settings: read from a TOML file, every key checked, defaults for the rest.

`config/tallyhand.toml` is the same with comments, to copy and change. The file is looked for
where `--config` says, else where TALLYHAND_CONFIG says, else in the user's own folder for
settings (`platformdirs`), under `tallyhand/tallyhand.toml`; only the last may be missing.
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import Any

from assistant.errors import Refusal
from assistant.files import file_format
from assistant.files.places import named_settings, own_folder
from assistant.files.sections import (
    SECTIONS,
    USUAL_BLANK,
    AnswerSettings,
    EarSettings,
    JobSettings,
    KeyboardSettings,
    MeasuredSettings,
    PaceSettings,
    PageSettings,
    PedalSettings,
    ScreenSettings,
    SoundSettings,
    SpeechSettings,
)
from assistant.files.toml_lines import TomlFault, line_of, parse

FILE_NAME = "tallyhand.toml"
DRAWER = "drawer"

__all__ = [
    "DRAWER",
    "FILE_NAME",
    "SECTIONS",
    "USUAL_BLANK",
    "AnswerSettings",
    "DrawerSettings",
    "EarSettings",
    "JobSettings",
    "KeyboardSettings",
    "MeasuredSettings",
    "PaceSettings",
    "PageSettings",
    "PedalSettings",
    "ScreenSettings",
    "Settings",
    "SoundSettings",
    "SpeechSettings",
    "load_settings",
    "read_settings",
    "settings_file",
]


@dataclass(frozen=True, slots=True)
class DrawerSettings:
    """What the person owns, as the file has it: `assistant/job/drawer.py` reads and checks it,
    where something is taken from it. `text` is the whole file, for the lines of faults."""

    data: Mapping[str, Any] = field(default_factory=dict)
    text: str = ""

    def line(self, key: str) -> int:
        """The line of a key of the drawer in the settings file, from 1."""
        return line_of(self.text, DRAWER, key)


@dataclass(frozen=True, slots=True)
class Settings:
    """All of them; `file` is where they came from, or would be looked for."""

    file: Path
    speech: SpeechSettings = field(default_factory=SpeechSettings)
    sound: SoundSettings = field(default_factory=SoundSettings)
    ear: EarSettings = field(default_factory=EarSettings)
    pedal: PedalSettings = field(default_factory=PedalSettings)
    keyboard: KeyboardSettings = field(default_factory=KeyboardSettings)
    screen: ScreenSettings = field(default_factory=ScreenSettings)
    page: PageSettings = field(default_factory=PageSettings)
    pace: PaceSettings = field(default_factory=PaceSettings)
    answers: AnswerSettings = field(default_factory=AnswerSettings)
    job: JobSettings = field(default_factory=JobSettings)
    measured: MeasuredSettings = field(default_factory=MeasuredSettings)
    drawer: DrawerSettings = field(default_factory=DrawerSettings)


def load_settings(chosen: Path | None = None) -> Settings:
    """The settings from `chosen`, TALLYHAND_CONFIG or the user's own file.

    Raises Refusal with file, line and cure for a file that is missing where one was named,
    that is no TOML, or that holds a key or a value that is unknown here.
    """
    file = chosen.expanduser() if chosen else settings_file()
    if not chosen and not named_settings() and not _is_there(file):
        return Settings(file)
    return read_settings(file)


def _is_there(file: Path) -> bool:
    """A folder that we may not look into holds no file for us."""
    try:
        return file.exists()
    except OSError:
        return False


def settings_file() -> Path:
    """Where the user's own file is, whether it exists or not: where TALLYHAND_CONFIG says, else
    in the platform's folder for settings."""
    return Path(named_settings() or f"{own_folder()}/{FILE_NAME}")


def read_settings(file: Path) -> Settings:
    """The settings in one file. Raises Refusal as `load_settings` does."""
    try:
        text = file.read_text(encoding="utf-8")
        data = parse(text)
    except OSError as error:
        why = error.strerror or str(error)
        raise Refusal(f"{file}: {why}", "name a settings file that can be read") from error
    except UnicodeDecodeError as error:
        raise Refusal(f"{file}: not a text file", "save it as UTF-8") from error
    except TomlFault as fault:
        raise Refusal(f"{file} line {fault.line}: {fault}", "mend that line") from fault
    try:
        file_format.take(data)
    except file_format.FormatFault as fault:
        line = line_of(text, "", file_format.KEY)
        raise Refusal(f"{file} line {line}: {fault}", "") from fault
    checker = _Checker(file, text)
    owned = checker.table(DRAWER, data.pop(DRAWER, {}))
    drawer = DrawerSettings(owned, text) if owned else DrawerSettings()
    sections = {name: checker.section(name, found) for name, found in data.items()}
    return Settings(file, **sections, drawer=drawer)


class _Checker:
    """Checks what a file holds against the sections above and says where a fault is."""

    def __init__(self, file: Path, text: str) -> None:
        self._file = file
        self._text = text

    def table(self, name: str, found: Any) -> dict[str, Any]:
        if not isinstance(found, dict):
            raise self._refusal(name, None, f"{name} = {found!r}", f"write it as a table, [{name}]")
        return found

    def section(self, name: str, found: Any) -> Any:
        if name not in SECTIONS:
            sections = [*SECTIONS, DRAWER]
            raise self._fault(name, None, f"[{name}] is no section", name, sections)
        known = {f.name: f for f in fields(SECTIONS[name])}
        self.table(name, found)
        for key, value in found.items():
            if key not in known:
                raise self._fault(name, key, f"{key!r} is no setting", key, list(known))
            self._value(name, key, value, known[key])
        return SECTIONS[name](**{key: _today(known[key], found[key]) for key in found})

    def _value(self, section: str, key: str, value: Any, rule: Any) -> None:
        wanted = type(rule.default)
        fits = isinstance(value, wanted) or (wanted is float and isinstance(value, int))
        if not fits or (isinstance(value, bool) and wanted is not bool):
            cure = {str: "text in quotes", bool: "true or false"}.get(wanted, "a number")
            raise self._refusal(section, key, f"{key} = {value!r}", f"write {cure}")
        if choices := rule.metadata.get("one_of"):
            if _today(rule, value) not in choices:
                raise self._refusal(section, key, f"{key} = {value!r}", _either(choices))
        elif limits := rule.metadata.get("between"):
            least, most = limits
            if not least <= value <= most:
                raise self._refusal(section, key, f"{key} = {value!r}", f"from {least} to {most}")

    def _fault(
        self, section: str, key: str | None, what: str, name: str, good: list[str]
    ) -> Refusal:
        near = difflib.get_close_matches(name, good, 1)
        cure = f"did you mean {near[0]!r}?" if near else f"known here: {', '.join(good)}"
        return self._refusal(section, key, what, cure, "; ")

    def _refusal(
        self, section: str, key: str | None, what: str, cure: str, between: str = ": "
    ) -> Refusal:
        line = line_of(self._text, section if key else "", key or section)
        line = line if key or line > 1 else line_of(self._text, section, "")
        return Refusal(f"{self._file} line {line}: {what}", cure, between)


def _today(rule: Any, value: Any) -> Any:
    """The value in the word that is used for it today."""
    return rule.metadata.get("once", {}).get(value, value) if isinstance(value, str) else value


def _either(choices: tuple[str, ...]) -> str:
    return "one of " + ", ".join(choices)
