"""Where the files that come with the program lie: heads and jobs, in a checkout or installed."""

from __future__ import annotations

import os

from assistant.errors import WrongUse

# A name that type checkers take for true. `plan` has to start quickly, so nothing here
# imports pathlib before somebody asks for a Path.
TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


def config_folder() -> Path:
    """The `config` folder beside the packages in a checkout, else the packaged copy of it."""
    from pathlib import Path

    return Path(_config())


def known_heads() -> list[str]:
    """The names of the heads that come with the program, and of the person's own."""
    found: set[str] = set()
    for base in (_config(), own_folder()):
        folder = os.path.join(base, "heads")  # noqa: PTH118
        files = os.listdir(folder) if os.path.isdir(folder) else []  # noqa: PTH112, PTH208
        found |= {file.removesuffix(".toml") for file in files if file.endswith(".toml")}
    return sorted(found)


def head_file(name_or_path: str) -> Path:
    """The file of a head, by its name or its own path. Raises WrongUse for one unknown."""
    from pathlib import Path

    return Path(head_path(name_or_path))


def head_path(name_or_path: str) -> str:
    """The same as plain text. A head of the program comes before one's own of the same
    name. Raises WrongUse for one that is neither known nor a file."""
    if not name_or_path.strip():
        raise WrongUse(f"no head named: known heads are {', '.join(known_heads())}")
    for path in _head_places(name_or_path):
        if os.path.isfile(path):  # noqa: PTH113
            return path
    raise WrongUse(
        f"head {name_or_path!r} is neither a known head nor a file: "
        f"known heads are {', '.join(known_heads())}; or give the path of a head file"
    )


def job_file(name_or_path: str) -> Path:
    """The file of a job: its own path, else the name of a job that comes with the program.

    What is no file and no such name is given back as it is, for the reader to refuse.
    """
    from pathlib import Path

    own = Path(name_or_path)
    shipped = config_folder() / "jobs" / f"{name_or_path}.toml"
    plain = not _in_a_folder(name_or_path) and not own.exists()
    return shipped if plain and shipped.is_file() else own


def named_settings() -> str:
    """The settings file that TALLYHAND_CONFIG names, `~` understood, or ""."""
    return os.path.expanduser(os.environ.get("TALLYHAND_CONFIG") or "")  # noqa: PTH111


def own_folder() -> str:
    """Where the person's settings and heads are: beside TALLYHAND_CONFIG, else the platform's
    own place."""
    if chosen := named_settings():
        return os.path.dirname(chosen)  # noqa: PTH120
    from platformdirs import user_config_path

    return str(user_config_path("tallyhand", appauthor=False))


def _head_places(name: str) -> Iterator[str]:
    """Where a head may lie: with the program, at its own path, with the person. One by one,
    since to find the person's own folder takes longer than a whole plan."""
    if not _in_a_folder(name):
        yield os.path.join(_config(), "heads", f"{name}.toml")  # noqa: PTH118
    yield os.path.expanduser(name)  # noqa: PTH111
    if not _in_a_folder(name):
        yield os.path.join(own_folder(), "heads", f"{name}.toml")  # noqa: PTH118


def _in_a_folder(name: str) -> bool:
    """It is a path, by whatever stroke this system has between folders."""
    return os.sep in name or bool(os.altsep and os.altsep in name)


def _config() -> str:
    here = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))  # noqa: PTH100, PTH120
    beside = os.path.join(os.path.dirname(here), "config")  # noqa: PTH118, PTH120
    return beside if os.path.isdir(f"{beside}/heads") else os.path.join(here, "_config")  # noqa: PTH112, PTH118
