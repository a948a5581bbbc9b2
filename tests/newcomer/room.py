"""A clean machine for the newcomer: a root of its own with Debian or Ubuntu and nothing else.

Needs root and debootstrap. What it has beyond the smallest system: `sudo`, which every desktop
has, a user with an empty home, and a default sound device that leads to a sound server outside,
as a desktop's own does. It has no git, no Python, no compiler, no library of sound.
"""

from __future__ import annotations

import contextlib
import os
import platform
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

USER = "newcomer"
HOME = f"/home/{USER}"
SOUND = "/run/desktop-sound"
DEBIAN_SUITES = ("bookworm", "trixie", "forky", "trixie-arm64")
SUITES = ("bookworm", "trixie", "noble")
_CERTIFICATES = "/etc/ssl/certs/ca-certificates.crt"
_TRUSTED = "/etc/trusted.crt"
_PASSED_ON = ("http_proxy", "https_proxy", "no_proxy", "PIP_INDEX_URL", "PIP_TRUSTED_HOST")
_ALSA = 'pcm.!default { type pulse hint { show on description "The desktop" } }\n'


@dataclass(frozen=True)
class Room:
    """The root at `root`; `enter` gives the words of a command that runs in it."""

    root: Path

    def enter(
        self, command: str, *, offline: bool = False, sound: Path | None = None, user: str = USER
    ) -> list[str]:
        """A shell command as the newcomer, in name spaces that end with it."""
        spaces = ["unshare", "--mount", "--pid", "--fork", "--kill-child", "--uts", "--ipc"]
        spaces += ["--net"] if offline else []
        root = self.root
        mounts = [f"mount -t proc proc {root}/proc", f"mount --rbind /dev {root}/dev"]
        if sound is not None:
            mounts.append(f"mkdir -p {root}{SOUND} && mount --bind {sound} {root}{SOUND}")
        settings = {
            "HOME": "/root" if user == "root" else HOME, "USER": user, "TERM": "xterm",
            "LANG": "C.UTF-8", "PATH": "/usr/local/bin:/usr/bin:/bin:/usr/sbin:/sbin",
            "PULSE_SERVER": f"unix:{SOUND}/native",
            "PIP_CERT": _TRUSTED, "SSL_CERT_FILE": _TRUSTED,
        }  # fmt: skip
        settings |= {name: os.environ[name] for name in _PASSED_ON if name in os.environ}
        env = " ".join(f"'{name}={value}'" for name, value in settings.items())
        inside = (
            f"{' && '.join(mounts)} && exec chroot --userspec={user} {root} env -i {env} "
            'bash -c "cd ~ && $COMMAND"'
        )
        return [*spaces, "env", f"COMMAND={command}", "bash", "-c", inside]

    def take(self, repository: Path) -> None:
        """A copy of the repository's last commit, where `git clone` finds it."""
        place = self.root / "srv" / "tallyhand.git"
        shutil.rmtree(place, ignore_errors=True)
        # Without its history: an emulated processor would count that for minutes.
        words = ["git", "clone", "-q", "--bare", "--depth=1", f"file://{repository}", str(place)]
        subprocess.run(words, check=True)
        subprocess.run(["chroot", str(self.root), "chown", "-R", USER, "/srv/tallyhand.git"],
                       check=True)  # fmt: skip
        _in(self.root, "git config --system --add safe.directory '*' 2>/dev/null || true")


def base(suite: str, mirror: str, folder: Path) -> Path:
    """The bare system of this suite in `folder`, made by debootstrap when it is not there yet."""
    root = folder / suite
    suite, _, processor = suite.partition("-")
    if processor:
        _let_qemu_run(processor)  # also for a system that is there: a new start forgets it
    if not (root / "etc" / "os-release").exists() or (root / "debootstrap").exists():
        shutil.rmtree(root, ignore_errors=True)
        options = [*_options(suite), *([f"--arch={processor}"] if processor else [])]
        words = ["debootstrap", "--variant=minbase", *options, suite, str(root), mirror]
        # A suite that this debootstrap is too old to know is made as its forebears were.
        known = Path("/usr/share/debootstrap/scripts", suite).exists()
        words += [] if known else ["gutsy" if suite not in DEBIAN_SUITES else "sid"]
        subprocess.run(words, check=True, stdout=subprocess.DEVNULL)
    return root


_ARM64 = (
    r":qemu-aarch64:M::\x7fELF\x02\x01\x01\x00\x00\x00\x00\x00\x00\x00\x00\x00\x02\x00\xb7\x00"
    r":\xff\xff\xff\xff\xff\xff\xff\x00\xff\xff\xff\xff\xff\xff\xff\xff\xfe\xff\xff\xff"
    ":/usr/bin/qemu-aarch64-static:F"
)
_FORMATS = Path("/proc/sys/fs/binfmt_misc")


def _let_qemu_run(processor: str) -> None:
    """Programs of that processor are run by qemu, until this machine is started anew (the kernel's
    binfmt-misc.rst; the magic is an ELF header's, for AArch64)."""
    if processor != "arm64":
        raise SystemExit(f"no emulation of {processor} is known here")
    if not (_FORMATS / "register").exists():
        subprocess.run(["mount", "-t", "binfmt_misc", "binfmt_misc", str(_FORMATS)], check=True)
    if not (_FORMATS / "qemu-aarch64").exists():
        (_FORMATS / "register").write_text(_ARM64)


def mirror_for(suite: str) -> str:
    """Where this machine's own packages come from: the first address in apt's list of sources;
    "" where those are of the other distribution."""
    family = "debian" if suite in DEBIAN_SUITES else "ubuntu"
    if platform.freedesktop_os_release()["ID"] != family:
        return ""
    told = subprocess.run(
        ["apt-get", "indextargets", "--format", "$(REPO_URI)"],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    return told.stdout.split()[0].rstrip("/")


def _options(suite: str) -> list[str]:
    # Debian does not hold Ubuntu's keys: the files are then checked against an unsigned list.
    return [] if suite in DEBIAN_SUITES else ["--no-check-gpg", "--components=main,universe"]


@contextlib.contextmanager
def clean_room(bare: Path, folder: Path, plain: bool | None = None) -> Iterator[Room]:
    """A fresh copy of the bare system, with the user in it; deleted at the end. `plain` true: a
    user who may install nothing, with Python, its environments and git; false: git alone, for
    root; None: a user with sudo."""
    root = Path(tempfile.mkdtemp(prefix="room-", dir=folder)) / "root"
    subprocess.run(["cp", "-a", "--reflink=auto", str(bare), str(root)], check=True)
    try:
        _furnish(root, _FURNITURE[plain])
        yield Room(root)
    finally:
        shutil.rmtree(root.parent, ignore_errors=True)


_FURNITURE = {None: "sudo", False: "git ca-certificates", True: "git python3 python3-venv"}


def _furnish(root: Path, packages: str) -> None:
    shutil.copy("/etc/resolv.conf", root / "etc" / "resolv.conf")
    # A suite in the making may come from a mirror that has not kept up.
    (root / "etc" / "apt" / "apt.conf.d" / "90late").write_text(
        'Acquire::Check-Valid-Until "false";\n'
    )
    (root / "etc" / "hosts").write_text(f"127.0.0.1 localhost\n127.0.1.1 {platform.node()}\n")
    _in(root, f"apt-get update -q && apt-get install -yq --no-install-recommends {packages}")
    _in(root, f"useradd --create-home --shell /bin/bash {USER}")
    if packages == "sudo":
        (root / "etc" / "sudoers.d" / USER).write_text(f"{USER} ALL=(ALL) NOPASSWD: ALL\n")
    (root / "etc" / "asound.conf").write_text(_ALSA)
    # Downloads are checked against what this machine trusts, as on the newcomer's own.
    shutil.copy(_CERTIFICATES, root / _TRUSTED.lstrip("/"))


def _in(root: Path, command: str) -> None:
    env = {"PATH": "/usr/sbin:/usr/bin:/sbin:/bin", "DEBIAN_FRONTEND": "noninteractive"}
    done = subprocess.run(["chroot", str(root), "bash", "-c", command], check=False, env=env,
                          capture_output=True, text=True)  # fmt: skip
    assert done.returncode == 0, done.stderr[-800:]
