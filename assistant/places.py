"""Where the files that come with the program lie: heads and jobs, in a checkout or installed."""

from __future__ import annotations

import os
from pathlib import Path

from assistant.cli import WrongUse


def config_folder() -> Path:
    """The `config` folder beside the packages in a checkout, else the packaged copy of it."""
    here = os.path.dirname(os.path.abspath(__file__))  # noqa: PTH100, PTH120 (quick start)
    beside = Path(os.path.dirname(here), "config")  # noqa: PTH120
    return beside if (beside / "heads").is_dir() else Path(here, "_config")


def known_heads() -> list[str]:
    """The names of the heads that come with the program."""
    return sorted(file.stem for file in (config_folder() / "heads").glob("*.toml"))


def head_file(name_or_path: str) -> Path:
    """The file of a head, by its name or its own path. Raises WrongUse for one unknown."""
    if not name_or_path.strip():
        raise WrongUse(f"no head named: known heads are {', '.join(known_heads())}")
    named = config_folder() / "heads" / f"{name_or_path}.toml"
    if "/" not in name_or_path and named.is_file():
        return named
    own = Path(name_or_path).expanduser()
    if own.is_file():
        return own
    raise WrongUse(
        f"head {name_or_path!r} is neither a known head nor a file: "
        f"known heads are {', '.join(known_heads())}; or give the path of a head file"
    )
