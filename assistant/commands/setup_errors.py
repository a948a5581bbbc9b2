"""`tallyhand setup errors`: a head's own errors, from readings with what a shop has."""

from __future__ import annotations

import math
import sys
from argparse import Namespace
from collections.abc import Iterator
from pathlib import Path

from assistant import errors
from assistant.bench.language_files import choose
from assistant.commands import command_line
from assistant.commands.plan_words import usual_head
from assistant.files.places import config_folder, head_file
from assistant.files.settings import load_settings
from assistant.setup.calibration import Calibration, Reading, TooLittle, calibrate
from assistant.words.language import say, speaking
from solver import Refused, angle_from_text, load_head

_ARCSEC_PER_RADIAN = 180 * 3600 / math.pi
_MOST_FACES = 360


def main(given: Namespace) -> int:
    """Tells the head's own errors in the language of the settings, and keeps them where
    that is asked.
    """
    settings = load_settings()
    with speaking(choose(settings.speech.language, settings.file).code):
        return _found(given)


def _found(given: Namespace) -> int:
    path = head_file(given.head or usual_head("setup errors"))
    try:
        head = load_head(path)
    except Refused as error:
        raise errors.passed_on(error) from error
    if given.save and config_folder().resolve() in path.resolve().parents:
        raise errors.Refusal(f"{path}: comes with the program", "save to a head of your own", ": ")
    readings = list(_read(given.readings) if given.readings else _asked(given.faces))
    scale = _ARCSEC_PER_RADIAN / given.radius if given.radius else 1.0
    readings = [Reading(r.angle, r.error * scale, r.face, r.setting) for r in readings]
    try:
        found = calibrate(readings, float(head.worm_ratio))
    except TooLittle as error:
        raise errors.Refusal(f"{given.readings or 'readings'}: {error}", "") from error
    print("\n".join(_told(found)))
    if given.save:
        _save(path, found)
    else:
        print(
            say("Under [errors] of the head's file: worm_arcsec = {bound} (--save writes it).",
                bound=_bound(found))
        )  # fmt: skip
    return command_line.DONE


# --- readings ---------------------------------------------------------------------------


def _read(name: str) -> Iterator[Reading]:
    try:
        lines = Path(name).read_text("utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        raise errors.Refusal(f"{name}: {error}", "give a text file of readings", ": ") from error
    for number, line in enumerate(lines, 1):
        bare = line.partition("#")[0].strip()
        if bare:
            yield _reading(f"{name} line {number}", bare)


def _reading(where: str, line: str) -> Reading:
    cells = [cell.strip() for cell in line.split(",")]
    try:
        angle, error = float(angle_from_text(cells[0]) * 360), _figure(cells[1])
        face = _count(cells[2]) if len(cells) > 2 and cells[2] else None
        return Reading(angle, error, face, _count(cells[3]) if len(cells) > 3 else 0)
    except (ValueError, IndexError) as fault:
        what = "write angle, reading, face, setting, like 40, -3.5, 1, 0"
        raise errors.Refusal(f"{where}: {line[:40]!r}: {what}", "") from fault


def _figure(text: str) -> float:
    value = float(text)
    if not abs(value) < 1e6:
        raise ValueError("no reading")
    return value


def _count(text: str) -> int:
    value = int(text)
    if not 0 <= value < _MOST_FACES:
        raise ValueError("no face")
    return value


def _asked(faces: int) -> Iterator[Reading]:
    """All places for each setting of the plug; a reading a line."""
    if not 3 <= faces <= _MOST_FACES:
        raise errors.WrongUse(f"tallyhand setup errors: --faces {faces}: 3 to {_MOST_FACES}")
    print(
        say(
            "Plug of {faces} faces in the chuck, indicator on face 0. "
            "Come up to each place one way.",
            faces=faces,
        )
    )
    for setting in range(faces):
        print(
            say("Setting {n}: head at 0, face {face} at the indicator; set it to nought.",
                n=setting + 1, face=setting)
        )  # fmt: skip
        for place in range(faces):
            angle, face = 360 * place / faces, (place + setting) % faces
            yield Reading(angle, _answer(setting, place, faces, angle, face), face, setting)


def _answer(setting: int, place: int, faces: int, angle: float, face: int) -> float:
    asks = say(
        "Setting {n} of {faces}, place {place} of {faces}: "
        "head at {angle}°, face {face} at the indicator. It reads?",
        n=setting + 1, faces=faces, place=place + 1, angle=f"{angle:.5g}", face=face,
    )  # fmt: skip
    while True:
        print(asks, flush=True)
        line = sys.stdin.readline()
        if not line:
            raise errors.Refusal(
                "readings: they ended too soon", "begin anew, or use --readings FILE", ": "
            )
        try:
            return _figure(line)
        except ValueError:
            print(say("{text} is no figure: give it like -3.5", text=repr(line.strip()[:30])))


# --- what is told -----------------------------------------------------------------------


def _told(found: Calibration) -> Iterator[str]:
    yield say(
        "worm, once a turn of the crank: {size} ± {within} arc-seconds at the spindle",
        size=f"{found.worm.value:.1f}", within=f"{found.worm.uncertainty:.1f}",
    )  # fmt: skip
    yield say(
        "wheel, slow: {size} ± {within} arc-seconds",
        size=f"{found.wheel.value:.1f}", within=f"{found.wheel.uncertainty:.1f}",
    )  # fmt: skip
    yield say(
        "one reading scatters by {size} (standard deviation, {freedom} degrees of freedom); "
        "± is 95 %, JCGM 100",
        size=f"{found.scatter:.1f}", freedom=found.freedom,
    )  # fmt: skip
    for number, face in enumerate(found.faces):
        yield say(
            "face {n} of the plug: {size} ± {within}",
            n=number, size=f"{face.value:+.1f}", within=f"{face.uncertainty:.1f}",
        )  # fmt: skip
    yield say(
        "no place is further off than {size} arc-seconds from the mean of all",
        size=f"{found.bound:.1f}",
    )
    yield say(
        "where moves are corrected, {size} arc-seconds may be left at any place",
        size=f"{found.within:.1f}",
    )


def _bound(found: Calibration) -> int:
    return math.ceil(found.bound)


def _save(path: Path, found: Calibration) -> None:
    """The bound under [errors]; all else in the file stays as it is written. Raises Refusal."""
    import tomlkit

    try:
        text = tomlkit.parse(path.read_text("utf-8"))
        table = text.setdefault("errors", tomlkit.table())
        table["worm_arcsec"] = _bound(found)
        table["worm_wave"] = [round(each.value, 2) for each in (found.worm_cos, found.worm_sin)]
        table["wheel_waves"] = [round(each.value, 2) for each in found.wheel_terms]
        table["known_within"] = round(found.within, 1)
        path.write_text(tomlkit.dumps(text), "utf-8")
    except OSError as error:
        raise errors.Refusal(
            f"{path}: {error.strerror}", "name a head that can be written", ": "
        ) from error
    print(
        say("{file}: written under [errors]; plan, table, sheet and report count it from now on.",
            file=path)
    )  # fmt: skip
