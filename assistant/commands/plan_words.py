"""What `plan` and `table` are asked alike: which head, and what is wished of a set-up."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from assistant import errors
from assistant.commands import options
from assistant.files.places import head_path
from solver import Head, Refused, Setup, load_head


def usual_head(command: str) -> str:
    """The head of the settings, for where none was named. Raises WrongUse where they have none."""
    from assistant.files.settings import load_settings  # only here: a plan has to start quickly

    if name := load_settings().job.head:
        return name
    raise errors.WrongUse(
        f"tallyhand {command}: --head is missing: give a head's name or file, "
        "or choose yours once with tallyhand setup head"
    )


def chosen_head(command: str, given: options.Given) -> Head:
    """The head that was named, else that of the settings with what the drawer has of it.

    Raises WrongUse or Refusal.
    """
    if name := given.text("--head"):
        return read_head(name)
    head: Head = owned().of(read_head(usual_head(command)))
    return head


def owned() -> Any:
    """What the drawer of the settings has of the head's plates and gears; all,
    where none is kept.
    """
    from assistant.files.settings import load_settings

    settings = load_settings()
    if not settings.drawer.data:
        from assistant.job.owned import ALL

        return ALL
    from assistant.job.from_drawer import check_owned

    return check_owned(settings)


def lacking(given: options.Given, best: Callable[[Head], Setup], instead: Setup) -> list[str]:
    """What the best way on the whole head of the settings takes and the drawer has not, in lines.
    `best` plans on a head."""
    if "--head" in given or not (mine := owned()):
        return []
    from assistant.job.from_drawer import missing

    return list(missing(mine, best(read_head(usual_head("plan"))), instead))


def read_head(name: str) -> Head:
    """The head by name or file. Raises WrongUse for an unknown one, Refusal for a faulty one."""
    try:
        return load_head(head_path(name))
    except Refused as error:
        raise errors.passed_on(error) from error


def wishes(given: options.Given) -> dict[str, Any]:
    """The keyword arguments of `solver.plan` that say what is wished."""
    found: dict[str, Any] = {"fitted": given.text("--fitted")}
    found["prefer"] = (given.text("--prefer") or "").split(",") if "--prefer" in given else []
    if "--head" not in given:
        _as_set(found)
    if "--tolerance" in given:
        from solver import tolerance_from_text

        found["tolerance"] = _in_words(
            lambda: tolerance_from_text(given.text("--tolerance") or "", radius(given))
        )
    return found


def _as_set(found: dict[str, Any]) -> None:
    """What the settings say of their own head, where the command line does not."""
    from assistant.files.sections import USUAL_BLANK
    from assistant.files.settings import load_settings

    usual = load_settings().job
    found["fitted"] = found["fitted"] or usual.fitted or None
    if usual.blank_minutes != USUAL_BLANK:
        found["prefer"] = [f"blank={usual.blank_minutes}", *found["prefer"]]


def radius(given: options.Given) -> Any:
    """The Length of --radius, or None."""
    text = given.text("--radius")
    if text is None:
        return None
    from solver import radius_from_text

    return _in_words(lambda: radius_from_text(text))


def _in_words(work: Any) -> Any:
    try:
        return work()
    except Refused as error:
        raise errors.WrongUse(f"tallyhand plan: {error}") from error
