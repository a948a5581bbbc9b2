"""Where the files that come with the program lie: heads and jobs, in a checkout or installed."""

from __future__ import annotations

import os

from assistant.cli import WrongUse

# A name that type checkers take for true. `plan` has to start quickly, so nothing here
# imports pathlib before somebody asks for a Path.
TYPE_CHECKING = False
if TYPE_CHECKING:
    from pathlib import Path


def config_folder() -> Path:
    """The `config` folder beside the packages in a checkout, else the packaged copy of it."""
    from pathlib import Path

    return Path(_config())


def known_heads() -> list[str]:
    """The names of the heads that come with the program."""
    files = os.listdir(os.path.join(_config(), "heads"))  # noqa: PTH118, PTH208
    return sorted(file.removesuffix(".toml") for file in files if file.endswith(".toml"))


def head_file(name_or_path: str) -> Path:
    """The file of a head, by its name or its own path. Raises WrongUse for one unknown."""
    from pathlib import Path

    return Path(head_path(name_or_path))


def head_path(name_or_path: str) -> str:
    """The same as plain text."""
    if not name_or_path.strip():
        raise WrongUse(f"no head named: known heads are {', '.join(known_heads())}")
    named = os.path.join(_config(), "heads", f"{name_or_path}.toml")  # noqa: PTH118
    if "/" not in name_or_path and os.path.isfile(named):  # noqa: PTH113
        return named
    own = os.path.expanduser(name_or_path)  # noqa: PTH111
    if os.path.isfile(own):  # noqa: PTH113
        return own
    raise WrongUse(
        f"head {name_or_path!r} is neither a known head nor a file: "
        f"known heads are {', '.join(known_heads())}; or give the path of a head file"
    )


def _config() -> str:
    here = os.path.dirname(os.path.abspath(__file__))  # noqa: PTH100, PTH120
    beside = os.path.join(os.path.dirname(here), "config")  # noqa: PTH118, PTH120
    return beside if os.path.isdir(f"{beside}/heads") else os.path.join(here, "_config")  # noqa: PTH112, PTH118
