"""`tallyhand plan --rings`: one set-up for each ring, with the fewest changes of plate."""

from __future__ import annotations

from assistant import errors
from assistant.commands import command_line, options
from assistant.commands.plan_words import wishes
from assistant.paper.plan_text import plan_heading, setup_text
from solver import Head, Refused, Ring, plan_rings


def show(head: Head, given: options.Given) -> int:
    """The rings in the order with the fewest changes of plate. Raises WrongUse for what the
    solver refuses.
    """
    parts = (given.text("--rings") or "").split(",")
    divisions = [options.whole_number("--rings", part) for part in parts]
    try:
        rings = plan_rings(head, divisions, **wishes(given))
    except Refused as error:
        raise errors.WrongUse(f"tallyhand plan: --rings: {error}") from error
    if "--json" in given:
        _print_json(head, divisions, rings)
    else:
        print("\n".join(_lines(head, rings, "--moves" in given)))
    return command_line.DONE


def _lines(head: Head, rings: tuple[Ring, ...], all_moves: bool) -> list[str]:
    changes = sum(ring.change for ring in rings)
    told = "no change of plate" if not changes else f"changes of plate: {changes}"
    lines = [plan_heading(f"{len(rings)} rings, {told},", head)]
    for n, ring in enumerate(rings, 1):
        put_on = f"   (put on plate {ring.setup.plate})" if ring.change else ""
        lines += ["", f"Ring {n}: {ring.divisions} divisions{put_on}"]
        lines += setup_text(n, ring.setup, all_moves)
    return lines


def _print_json(head: Head, divisions: list[int], rings: tuple[Ring, ...]) -> None:
    import json

    records = [
        {
            "divisions": ring.divisions,
            "plate_change": ring.change,
            "setup": ring.setup.to_record(),
        }
        for ring in rings
    ]
    asked = {"head": head.name, "request": {"rings": divisions}}
    print(json.dumps({**asked, "rings": records}, ensure_ascii=False))
