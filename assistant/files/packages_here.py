"""What to install on this system for a thing that is missing: the package's name where it has one.

Debian's and Ubuntu's names are those of config/packages.txt; the others are from memory.
"""

from __future__ import annotations

import sys
from collections.abc import Mapping

SPEECH, SOUND, PAPER = "speech", "sound", "paper"
_FAMILIES = {
    "debian": "sudo apt install", "fedora": "sudo dnf install", "arch": "sudo pacman -S",
    "suse": "sudo zypper install", "alpine": "sudo apk add", "darwin": "brew install",
}  # fmt: skip
_PACKAGES: Mapping[str, Mapping[str, str]] = {
    SPEECH: {"": "espeak-ng"},
    SOUND: {
        "debian": "libportaudio2 libasound2-plugins",
        "suse": "libportaudio2",
        "": "portaudio",
    },
    PAPER: {
        "debian": "libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0 fonts-dejavu-core",
        "suse": "libpango-1_0-0 dejavu-fonts",
        "": "pango",
    },
}


def to_install(what: str) -> str:
    """The command that installs it, else the package's usual name."""
    family = _family()
    names = _PACKAGES[what]
    name = names.get(family, names[""])
    return f"{_FAMILIES[family]} {name}" if family else f"install {name}"


def to_install_python(package: str) -> str:
    """The command that adds a Python package to this very installation."""
    return f"{sys.executable} -m pip install {package}"


def not_here(error: Exception) -> str:
    """Why something can't be loaded, for a person: the package that is not there by its name."""
    if isinstance(error, ModuleNotFoundError) and error.name:
        return f"the Python package {package_of(error)} is not installed"
    return " ".join(str(error).split()) or type(error).__name__


def package_of(error: ModuleNotFoundError) -> str:
    """The package of a module that is missing, as far as its name is the module's."""
    return (error.name or "").partition(".")[0].replace("_", "-")


def ours(error: ModuleNotFoundError) -> bool:
    """A module of our own that is missing is a fault of the program, not of the machine."""
    return package_of(error) in ("", "assistant", "solver")


def without_numpy() -> tuple[str, str] | None:
    """Why there is no NumPy, on which all sound and hearing stand, with the cure; or None."""
    try:
        __import__("numpy")
    except ImportError as error:
        return not_here(error), to_install_python("numpy")
    return None


def _family() -> str:
    """Whose package names hold here; "" where that is not known."""
    if not sys.platform.startswith("linux"):
        return "darwin" if sys.platform == "darwin" else ""
    import platform

    try:
        told = platform.freedesktop_os_release()
    except OSError:
        return ""
    like = f"{told.get('ID', '')} {told.get('ID_LIKE', '')}".replace("opensuse", "suse").split()
    return next((each for each in like if each in _FAMILIES), "")
