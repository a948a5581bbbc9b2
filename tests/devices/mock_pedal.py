"""A USB foot pedal for umockdev: what the kernel would say of it, and what the foot does.

The formats are umockdev's own (its README): a device's properties, the answers to its ioctls,
and timed input events; event and ioctl numbers are those of linux/input.h.
"""

from __future__ import annotations

import struct
import sys
from pathlib import Path

NAME = "Bench Pedal"
VENDOR, PRODUCT = 0x1209, 0x0001
KEY_F13, KEY_B = 183, 48
NODE = "/dev/input/event7"
Move = tuple[float, int, int]  # seconds from the start, key code, value

_DEVICE = f"""P: /devices/pci0000:00/usb1/1-2/1-2:1.0/input/input7/event7
N: input/event7
E: DEVNAME={NODE}
E: ID_INPUT=1
E: ID_INPUT_KEY=1
E: MAJOR=13
E: MINOR=71
E: SUBSYSTEM=input
A: dev=13:71
L: device=../../input7

P: /devices/pci0000:00/usb1/1-2/1-2:1.0/input/input7
E: NAME="{NAME}"
E: PRODUCT=3/{VENDOR:x}/{PRODUCT:x}/100
E: SUBSYSTEM=input
A: name={NAME}
"""


def command(folder: Path, moves: list[Move], program: list[str]) -> list[str]:
    """The command line that runs `program` with the pedal plugged in and these moves."""
    files = {"device": _DEVICE, "ioctl": _ioctls(), "events": _events(moves)}
    for name, text in files.items():
        (folder / f"pedal.{name}").write_text(text)
    return [
        "umockdev-run", "--device", str(folder / "pedal.device"),
        "--ioctl", f"{NODE}={folder / 'pedal.ioctl'}",
        "--evemu-events", f"{NODE}={folder / 'pedal.events'}",
        "--", sys.executable, *program,
    ]  # fmt: skip


def press(at: float, held: float, key: int = KEY_F13) -> list[Move]:
    return [(at, key, 1), (at + held, key, 0)]


def repeating(at: float, held: float, key: int = KEY_F13) -> list[Move]:
    """As a keyboard does while a key is held: value 2, from a quarter of a second on."""
    count = max(0, int((held - 0.25) / 0.033))
    return [
        (at, key, 1),
        *((at + 0.25 + 0.033 * n, key, 2) for n in range(count)),
        (at + held, key, 0),
    ]


def _events(moves: list[Move]) -> str:
    lines = ["E: 0.000000 0000 0000 0000"]
    for at, key, value in moves:
        lines += [f"E: {at:.6f} 0001 {key:04x} {value:04d}", f"E: {at:.6f} 0000 0000 0000"]
    return "\n".join(lines) + "\n"


def _ioctls() -> str:
    def text(words: str) -> str:
        return words.encode().ljust(256, b"\0").hex().upper()

    ident = struct.pack("<4H", 3, VENDOR, PRODUCT, 0x100).hex().upper()
    return (
        "\n".join(
            [
                "EVIOCGVERSION 0 01000100",
                f"EVIOCGID 0 {ident}",
                f"EVIOCGNAME(0) {len(NAME) + 1} {text(NAME)}",
                f"EVIOCGPHYS(0) 11 {text('usb/input0')}",
                f"EVIOCGUNIQ(0) 1 {text('')}",
                f"EVIOCGBIT(0) 4 {_bits([0, 1, 0x14], 4)}",
                f"EVIOCGBIT(1) 96 {_bits([KEY_B, KEY_F13], 96)}",
                f"EVIOCGBIT(20) 8 {_bits([0, 1], 96)}",
                f"EVIOCGPROP(0) 8 {_bits([], 8)}",
                f"EVIOCGREP 0 {struct.pack('<2I', 250, 33).hex().upper()}",
                "EVIOCGEFFECTS 0 00000000",
                f"EVIOCGKEY(0) 96 {_bits([], 96)}",
            ]
        )
        + "\n"
    )


def _bits(numbers: list[int], size: int) -> str:
    mask = bytearray(size)
    for number in numbers:
        mask[number // 8] |= 1 << (number % 8)
    return mask.hex().upper()
