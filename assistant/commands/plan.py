"""`tallyhand plan`: how to index a division, an angle or a list of angles on a head."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from assistant import errors
from assistant.commands import command_line, options
from assistant.commands.plan_words import chosen_head, lacking, radius, wishes
from assistant.paper.plan_text import plan_heading, reckoning_lines, setup_text
from solver import Head, Refused, Setup, plan

_SHOWN = 4

RequestData = dict[str, Any]


def main(given: options.Given) -> int:
    """0 with the ways to index what was asked for. Raises WrongUse for options that don't go
    together or are out of range, Refusal for a head that can't be read.
    """
    _one_request(given)
    head = _head(given)
    if "--rings" in given:
        from assistant.commands import plan_rings

        return plan_rings.show(head, given)
    request = _request(given)
    setups = _setups(head, request, given)
    if "--json" in given:
        _print_json(head, request, setups, given)
    else:
        _print_text(head, request, setups, given)
    return command_line.DONE


def _one_request(given: options.Given) -> None:
    ways = [name for name in ("--divisions", "--angle", "--positions", "--rings") if name in given]
    if len(ways) != 1:
        told = " and ".join(ways) if ways else "nothing to index"
        raise errors.WrongUse(
            f"tallyhand plan: {told} given: "
            "give one of --divisions, --angle, --positions and --rings"
        )


def _head(given: options.Given) -> Head:
    return chosen_head("plan", given)


def _request(given: options.Given) -> RequestData:
    """The keyword arguments of `solver.plan` that say what is asked for."""
    if "--divisions" in given:
        return {"divisions": given.whole("--divisions", 0)}
    if "--angle" in given:
        return {"angle": _asked(given, "--angle")}
    from assistant.files.positions_file import read_positions

    return {"positions": read_positions(given.text("--positions") or "")}


def _asked(given: options.Given, name: str) -> Fraction:
    from solver import angle_from_text

    try:
        return angle_from_text(given.text(name) or "")
    except Refused as error:
        raise errors.WrongUse(f"tallyhand plan: {name}: {error}") from error


def _setups(head: Head, request: RequestData, given: options.Given) -> tuple[Setup, ...]:
    most = given.whole("--most", 0) if "--most" in given else None
    wished = wishes(given)
    try:
        return plan(head, **request, **wished, most=most)
    except Refused as error:
        if "positions" in request:
            raise errors.passed_on(error, given.text("--positions") or "") from error
        raise errors.WrongUse(f"tallyhand plan: {error}") from error


def _print_text(
    head: Head, request: RequestData, setups: tuple[Setup, ...], given: options.Given
) -> None:
    shown = setups if "--most" in given else setups[:_SHOWN]
    lines = [plan_heading(_asked_text(request), head)]
    for place, setup in enumerate(shown, 1):
        lines += ["", *setup_text(place, setup, "--moves" in given)]
        if not setup.exact or "--radius" in given or "--errors" in given:
            lines += _errors(head, request, setup, given)
    if len(setups) > len(shown):
        more = len(setups) - len(shown)
        lines += ["", f"{more} more: --most {len(setups)} shows all"]
    if not setups[0].exact:
        from assistant.paper.error_text import missing_line, useless_line

        lines += ["", missing_line(head, setups[0], request)]
        lines += [line for line in [useless_line(head, setups[0], request)] if line]
    if lines_lacking := _lacking(setups, request, given):
        lines += ["", *lines_lacking]
    if "--reckoning" in given and setups[0].reckoning:
        lines += ["", *reckoning_lines(setups[0].reckoning)]
    if "--errors" in given:
        from assistant.paper.error_text import position_lines

        lines += ["", *position_lines(head, setups[0], request, radius(given))]
    if question := _meant(given):
        lines[1:1] = [question]
    print("\n".join(lines))


def _lacking(setups: tuple[Setup, ...], request: RequestData, given: options.Given) -> list[str]:
    return lacking(given, lambda head: _setups(head, request, given)[0], setups[0])


def _meant(given: options.Given) -> str:
    """Asks about a decimal that is surely a rounding of whole minutes; "" where there is none."""
    text = given.text("--angle")
    if text is None:
        return ""
    from solver import angle_from_text, degrees_text, meant_minutes

    meant = meant_minutes(text)
    if meant is None:
        return ""
    off = abs(float(meant - angle_from_text(text))) * 1296000
    shown = degrees_text(meant)
    return f'Do you mean {shown}? {text.strip()} is {off:.2g}" off that: if so, give it as {shown}'


def _errors(head: Head, request: RequestData, setup: Setup, given: options.Given) -> list[str]:
    from assistant.paper.error_text import statement_lines

    return ["    " + line for line in statement_lines(head, setup, request, radius(given))]


def _asked_text(request: RequestData) -> str:
    if "divisions" in request:
        return f"{request['divisions']} divisions"
    from solver import degrees_text

    if "angle" in request:
        return f"One move of {degrees_text(request['angle'])}"
    return f"{len(request['positions'])} listed angles"


def _print_json(
    head: Head, request: RequestData, setups: tuple[Setup, ...], given: options.Given
) -> None:
    import json

    from assistant.paper.error_text import position_records
    from solver import error_statement

    records = []
    for setup in setups:
        statement = error_statement(head, setup, **request)
        records.append({**setup.to_record(), "errors": statement.to_record(radius(given))})
    if "--errors" in given:
        records[0]["positions"] = position_records(head, setups[0], request, radius(given))
    asked = {"head": head.name, "request": _request_record(request, given)}
    if lines := _lacking(setups, request, given):
        asked["drawer"] = lines
    print(json.dumps({**asked, "setups": records}, ensure_ascii=False))


def _request_record(request: RequestData, given: options.Given) -> RequestData:
    if "divisions" in request:
        return request
    if "angle" in request:
        asked = {"angle": given.text("--angle"), "turns": str(request["angle"])}
        question = _meant(given)
        return {**asked, "question": question} if question else asked
    return {"positions": [str(place) for place in request["positions"]]}
