"""What the command line says about the bench page, over what the settings say."""

from __future__ import annotations

from argparse import BooleanOptionalAction, Namespace
from contextlib import suppress
from typing import TYPE_CHECKING

from assistant.commands.argument_parser import Parser
from assistant.errors import WrongUse

if TYPE_CHECKING:
    from pathlib import Path

    from assistant.files.settings import Settings


def add_page_options(parser: Parser) -> None:
    """Whether the page is served, on which port and network, for a command at the bench."""
    parser.add_argument(
        "--page",
        action=BooleanOptionalAction,
        default=None,
        help="serve the bench page to a browser on this machine (so it is, unless switched off)",
    )
    parser.add_argument("--port", type=int, metavar="N", help="port of the bench page, 0: any")
    parser.add_argument(
        "--network",
        action="store_true",
        help="serve it to the shop's network instead, with a key shown as a QR code",
    )
    parser.add_argument(
        "--address", metavar="IP", help="with --network: this machine's address on that network"
    )
    parser.add_argument(
        "--new-key", action="store_true", help="with --network: a new key; old codes are void"
    )


def with_page_options(settings: Settings, given: Namespace) -> Settings:
    """The settings with what was given on the command line. Raises WrongUse."""
    from dataclasses import replace

    page = settings.page
    if given.page is False and given.network:
        raise WrongUse("--no-page and --network: give one of the two")
    if given.port is not None and not 0 <= given.port <= 65535:
        raise WrongUse(f"--port {given.port}: give a port from 1 to 65535, or 0 for any")
    if (given.address or given.new_key) and not (given.network or page.network):
        raise WrongUse("--address and --new-key go with --network: add it")
    serve = given.network or (page.serve if given.page is None else given.page)
    port = page.port if given.port is None else given.port
    network = given.network or page.network
    address = given.address or page.address
    told = replace(page, serve=serve, port=port, network=network, address=address)
    return replace(settings, page=told)


def renew_key(given: Namespace, folder: Path) -> None:
    """With --new-key the old key goes: what was scanned or written down before is void."""
    if given.new_key:
        from assistant.page.access import KEY_FILE

        with suppress(OSError):
            (folder / KEY_FILE).unlink()
