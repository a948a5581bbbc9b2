"""The phone network in PyTorch, for fitting only: the same layers and names as the one that
listens (`assistant/hearing/phones/network.py`), and two more outputs that are not shipped.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any
from zipfile import BadZipFile

import numpy as np
import torch
from torch.nn import functional as F  # noqa: N812 - its usual name

from assistant.errors import Refusal
from assistant.hearing.phones.network import PHONES

Tensor = Any
Weights = dict[str, Any]

BANDS, WIDTH, INNER, HEADS, KERNEL, BLOCKS, STRIDE = 64, 192, 384, 4, 15, 6, 3
_POOLS, _POOLED = 4, 128
_SHIPPED = frozenset(("f1", "f2", "n0", "ctc", "blocks"))
_DROP, _DROP_POOLED = 0.1, 0.2


@dataclass(frozen=True)
class Outputs:
    """Before the softmax: phones (n, rows, 42) at the end and after half the blocks, phrases
    (n, labels); and how many rows of each are sound."""

    phones: Tensor
    half_way: Tensor
    phrases: Tensor
    rows: Tensor


def fresh_weights(labels: int, seed: int, device: str) -> Weights:
    """Weights to begin from: uniform within 1/sqrt(inputs), layers of norm at one."""
    chance = torch.Generator().manual_seed(seed)
    made: Weights = {}

    def layer(name: str, *shape: int) -> None:
        bound = float(np.prod(shape[1:])) ** -0.5
        made[name + ".weight"] = (2 * torch.rand(shape, generator=chance) - 1) * bound
        made[name + ".bias"] = (2 * torch.rand(shape[:1], generator=chance) - 1) * bound

    def norm(name: str) -> None:
        made[name + ".weight"], made[name + ".bias"] = torch.ones(WIDTH), torch.zeros(WIDTH)

    phones = len(PHONES) + 1
    layer("f1", WIDTH, BANDS, 5)
    layer("f2", WIDTH, WIDTH, 5)
    norm("n0")
    for number in range(BLOCKS):
        at = f"blocks.{number}."
        for name in ("n1", "n2", "n3", "nc", "n4", "n5"):
            norm(at + name)
        for name, out, inputs in (("a1", INNER, WIDTH), ("b1", WIDTH, INNER),
                                  ("qkv", 3 * WIDTH, WIDTH), ("o", WIDTH, WIDTH),
                                  ("c1", 2 * WIDTH, WIDTH), ("c2", WIDTH, WIDTH),
                                  ("a2", INNER, WIDTH), ("b2", WIDTH, INNER)):  # fmt: skip
            layer(at + name, out, inputs)
        layer(at + "dw", WIDTH, 1, KERNEL)
    layer("ctc", phones, WIDTH)
    layer("mid", phones, WIDTH)
    layer("att", _POOLS, WIDTH)
    layer("h1", _POOLED, WIDTH * _POOLS)
    layer("h2", labels, _POOLED)
    return {name: value.to(device).requires_grad_() for name, value in made.items()}


def forward(weights: Weights, bands: Tensor, frames: Tensor, *, drop: bool = False) -> Outputs:
    """`bands` (n, frames, 64) as `phones.network.bands` gives them, of which so many `frames` are
    sound; with `drop` some values are left out, as in fitting."""
    known = _Layers(weights, drop)
    there = (_counted(bands) < frames[:, None]).unsqueeze(-1)
    x = F.silu(known.convolved((bands * there).transpose(1, 2), "f1", 1)) * there.transpose(1, 2)
    x = F.silu(known.convolved(x, "f2", STRIDE)).transpose(1, 2)
    rows = torch.div(frames - 1, STRIDE, rounding_mode="floor") + 1
    there = (_counted(x) < rows[:, None]).unsqueeze(-1)
    barred = torch.zeros(there.shape[:2], device=x.device).masked_fill(~there[..., 0], -1e4)
    x, half_way = known.normed(x, "n0") * there, x
    for number in range(BLOCKS):
        x = known.block(x, f"blocks.{number}.", there, barred)
        if number == BLOCKS // 2 - 1:
            half_way = known.layer(x, "mid")
    shares = (known.layer(x, "att") + barred.unsqueeze(-1)).softmax(1)
    pooled = torch.einsum("btp,btd->bpd", shares.to(x.dtype), x).reshape(x.shape[0], -1)
    hidden = F.dropout(F.silu(known.layer(pooled, "h1")), _DROP_POOLED, drop)
    return Outputs(known.layer(x, "ctc"), half_way, known.layer(hidden, "h2"), rows)


def _counted(x: Tensor) -> Tensor:
    return torch.arange(x.shape[1], device=x.device)[None]


@dataclass(frozen=True)
class _Layers:
    weights: Weights
    drop: bool

    def block(self, x: Tensor, at: str, there: Tensor, barred: Tensor) -> Tensor:
        x = x + 0.5 * self._fed(x, at, "n1", "a1", "b1")
        x = x + self._attended(x, at, barred)
        x = x + self._mixed(x, at, there)
        x = x + 0.5 * self._fed(x, at, "n4", "a2", "b2")
        return self.normed(x, at + "n5") * there

    def _fed(self, x: Tensor, at: str, norm: str, first: str, second: str) -> Tensor:
        inner = self._dropped(F.silu(self.layer(self.normed(x, at + norm), at + first)))
        return self._dropped(self.layer(inner, at + second))

    def _attended(self, x: Tensor, at: str, barred: Tensor) -> Tensor:
        count, rows, width = x.shape
        made = self.layer(self.normed(x, at + "n2"), at + "qkv")
        asked, key, value = made.view(count, rows, 3, HEADS, width // HEADS).permute(2, 0, 3, 1, 4)
        fits = asked @ key.transpose(-1, -2) * (width // HEADS) ** -0.5
        shares = (fits + barred[:, None, None].to(fits.dtype)).softmax(-1)
        joined = (shares.to(value.dtype) @ value).transpose(1, 2).reshape(count, rows, width)
        return self._dropped(self.layer(joined, at + "o"))

    def _mixed(self, x: Tensor, at: str, there: Tensor) -> Tensor:
        gated = F.glu(self.layer(self.normed(x, at + "n3"), at + "c1"), dim=-1) * there
        spread = F.conv1d(gated.transpose(1, 2), self.weights[at + "dw.weight"],
                          self.weights[at + "dw.bias"], padding=KERNEL // 2,
                          groups=WIDTH).transpose(1, 2)  # fmt: skip
        return self._dropped(self.layer(F.silu(self.normed(spread, at + "nc")), at + "c2"))

    def layer(self, x: Tensor, name: str) -> Tensor:
        return F.linear(x, self.weights[name + ".weight"], self.weights[name + ".bias"])

    def normed(self, x: Tensor, name: str) -> Tensor:
        return F.layer_norm(
            x, (WIDTH,), self.weights[name + ".weight"], self.weights[name + ".bias"]
        )

    def convolved(self, x: Tensor, name: str, stride: int) -> Tensor:
        return F.conv1d(
            x, self.weights[name + ".weight"], self.weights[name + ".bias"], stride, padding=2
        )

    def _dropped(self, x: Tensor) -> Tensor:
        return F.dropout(x, _DROP, self.drop)


def save_network(weights: Weights, file: Path) -> None:
    """What listens needs of it, in half precision."""
    kept = {name: value for name, value in weights.items() if name.split(".")[0] in _SHIPPED}
    halves = {name: value.detach().float().cpu().numpy() for name, value in kept.items()}
    np.savez(file, **{name: value.astype(np.float16) for name, value in halves.items()})


def keep_weights(weights: Weights, file: Path) -> None:
    """All of it, to begin from or to teach; beside the file first, then in its place."""
    beside = file.with_suffix(".part.npz")
    np.savez(beside, **{name: value.detach().cpu().numpy() for name, value in weights.items()})
    beside.replace(file)


def kept_weights(file: Path, device: str) -> Weights:
    """What `keep_weights` wrote. Raises Refusal with the cure for what is none."""
    try:
        with np.load(file, allow_pickle=False) as data:
            found = {name: torch.from_numpy(data[name]) for name in data.files}
    except (OSError, ValueError, KeyError, BadZipFile) as error:
        raise Refusal(f"{file}: no weights ({error})", "delete it and train again") from error
    return {name: value.to(device).requires_grad_() for name, value in found.items()}
