"""`tallyhand doctor`: what works of microphone, speaker, recogniser and pedal, and what to do."""

from __future__ import annotations

import json
import sys
from argparse import Namespace
from collections.abc import Iterator
from dataclasses import asdict
from itertools import chain
from pathlib import Path

from assistant import errors
from assistant.commands import command_line
from assistant.files.places import head_path
from assistant.files.settings import Settings, load_settings
from assistant.setup.checks import Finding, check_each, device_names
from assistant.setup.drawer_check import check_drawer
from solver import Head, Refused, load_head


def main(given: Namespace) -> int:
    """0 where all that was looked at is well, 1 where something is not; or teaches the pedal, or
    names the folders.
    """
    settings = load_settings(Path(given.config) if given.config else None)
    if given.learn_pedal:
        return _learn(settings)
    if given.learn_second_pedal:
        return _learn_second(settings)
    if given.where:
        return _where(settings)
    told = chain(check_each(settings), _measured(settings), _head(settings), check_drawer(settings))
    findings = list(told) if given.json else [_tell(finding) for finding in told]
    print(as_json(settings, findings) if given.json else names_and_settings(settings))
    return command_line.DONE if all(finding.ok for finding in findings) else command_line.REFUSED


def _head(settings: Settings) -> Iterator[Finding]:
    """The head of the settings, read as a job would read it; nothing where none was chosen."""
    name = settings.job.head
    if not name:
        return
    try:
        head = load_head(head_path(name))
    except (Refused, errors.WrongUse) as error:
        yield Finding("head", False, str(error), "choose or mend it: tallyhand setup head")
    else:
        yield Finding("head", True, "; ".join(_of_head(head)))


def _of_head(head: Head) -> Iterator[str]:
    """What the set-up wrote into its file: ratio, plates by their names, its own errors."""
    yield f"{head.name}, {head.worm_ratio} to 1"
    if head.plates:
        names = ", ".join(plate.name for plate in head.plates)
        yield f"plates {names}" if len(head.plates) > 1 else f"plate {names}"
    if head.errors.worm_wave:
        known = head.errors.known_within
        yield "its own errors measured" + (f", known within {float(known):g}″" if known else "")


def _measured(settings: Settings) -> Iterator[Finding]:
    """What the set-up measured of the microphone; nothing where it was never asked to."""
    for key in ("machine_off", "machine_running"):
        if found := getattr(settings.measured, key):
            yield Finding("measured", True, f"{key.replace('_', ' ')}: {found}")


def _tell(finding: Finding) -> Finding:
    """A line for the part at once, and one with the cure where it is wrong."""
    print(f"{'ok ' if finding.ok else 'NOT'} {finding.part:<11} {finding.what}", flush=True)
    if finding.cure:
        print(f"    {'':<11} -> {finding.cure}", flush=True)
    return finding


def names_and_settings(settings: Settings) -> str:
    """The names that the settings may hold, and where the settings are."""
    lines = [f"    {kind:<11} {', '.join(names) or 'none'}" for kind, names in
             device_names().items()]  # fmt: skip
    there = "" if settings.file.exists() else " (not there: the defaults hold)"
    return "\n".join([*lines, f"    {'settings':<11} {settings.file}{there}"])


def as_json(settings: Settings, findings: list[Finding]) -> str:
    """The findings for programs."""
    return json.dumps(
        {
            "ok": all(finding.ok for finding in findings),
            "findings": [asdict(finding) for finding in findings],
            "settings": str(settings.file),
            **device_names(),
        }
    )


def _where(settings: Settings) -> int:
    """Every folder that something is kept in, for who makes a copy or leaves."""
    from assistant.commands import data_folder
    from assistant.setup.kept_folders import folders_kept

    for each in folders_kept(settings, data_folder.folder(None)):
        there = "" if each.place.exists() else "  (not there)"
        mark = "yours" if each.yours else "can be made again"
        print(f"{each.place}{there}\n    {each.what} ({mark})")
    return command_line.DONE


def _learn_second(settings: Settings) -> int:
    from assistant.devices.pedal.binding import SECOND, pedal_file, read_binding, write_binding
    from assistant.devices.pedal.teach import WAIT_S, learn_key

    file = pedal_file(settings.file)
    first = read_binding(file)
    if first is None:
        raise errors.Refusal("no pedal was taught yet", "first run tallyhand doctor --learn-pedal")
    print(f"Press the second pedal now, once ({WAIT_S:g} seconds) ...", flush=True)
    binding, why = learn_key()
    if binding is None:
        raise errors.Refusal(why)
    if binding == first:
        raise errors.Refusal("that is the pedal that answers", "press the other one")
    write_binding(file, binding, SECOND)
    print(f"The second pedal is the key {binding.key} of {binding.device or 'any keyboard'}. "
          f"Kept in {file}")  # fmt: skip
    if settings.pedal.second == "none":
        print('Note: the settings leave it out, [pedal] second = "none".')
    sys.stdout.flush()
    return command_line.DONE


def _learn(settings: Settings) -> int:
    from assistant.devices.pedal.binding import pedal_file, write_binding
    from assistant.devices.pedal.teach import WAIT_S, learn_key

    print(f"Press the pedal now, once ({WAIT_S:g} seconds) ...", flush=True)
    binding, why = learn_key()
    if binding is None:
        raise errors.Refusal(why)
    file = pedal_file(settings.file)
    write_binding(file, binding)
    print(
        f"The pedal is the key {binding.key} of {binding.device or 'any keyboard'}. Kept in {file}"
    )
    if binding.source == "x" and binding.types:
        print("Note: an ordinary keyboard has this key too. It presses as the pedal does.")
    if settings.pedal.kind not in ("auto", binding.source):
        print(f"Note: the settings ask for another kind, [pedal] kind = {settings.pedal.kind!r}.")
    sys.stdout.flush()
    return command_line.DONE
