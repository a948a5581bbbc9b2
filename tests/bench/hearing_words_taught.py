"""The phone network taught six words in PyTorch: all of it, or only what stands on it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import torch
from torch.nn import functional as F  # noqa: N812 - its usual name

from assistant.hearing.phones.network import BLANK, FILE
from assistant.hearing.phones.scoring import sounds
from assistant.hearing.training.phones.torch_network import Outputs, Weights, forward, fresh_weights
from tests.bench.hearing_words_heard import WORDS, Cut, Short, spelt

STEPS, BATCH, WARM, RATE_OF_ALL, RATE_ABOVE = 1200, 192, 150, 4e-4, 2e-3
NONE_COUNTS = 0.5
ABOVE = frozenset({"att", "h1", "h2"})
_MOST_SOUNDS = 24

Values = dict[str, "np.ndarray[Any, np.dtype[np.float32]]"]


@dataclass(frozen=True)
class Taught:
    """Weights by name: of the network with what stands on it."""

    above: Values
    whole: Values


def device() -> str:
    return "cuda" if torch.cuda.is_available() else "cpu"


def both_taught(cuts: Sequence[Cut], tell: Callable[[str], None]) -> Taught:
    """Only what stands on the phone network fitted, and all of it."""
    examples = _Examples(cuts)
    return Taught(
        _fitted(examples, ABOVE, RATE_ABOVE, tell), _fitted(examples, None, RATE_OF_ALL, tell)
    )


def _begun() -> Weights:
    """The network that ships, and fresh outputs for the words."""
    found = fresh_weights(len(WORDS) + 1, 1, device())
    with np.load(FILE, allow_pickle=False) as data:
        for name in data.files:
            value = torch.from_numpy(data[name].astype(np.float32)).to(device())
            found[name] = value.requires_grad_()
    return found


class _Examples:
    """Bands of the recordings, padded, and what is right for them."""

    def __init__(self, cuts: Sequence[Cut]) -> None:
        self.bands, self.frames = _padded([cut.bands for cut in cuts])
        words = list(WORDS)
        labels = [words.index(c.label) if c.label in WORDS else len(words) for c in cuts]
        self.labels = np.array(labels)
        self.sounds = [[sounds(each) for each in spelt(cut.label)] for cut in cuts]
        self._of = [np.flatnonzero(self.labels == n) for n in range(len(words) + 1)]

    def drawn(self, rng: np.random.Generator) -> np.ndarray[Any, np.dtype[np.int64]]:
        """Half of them words, each as often as the others."""
        half = [self._of[rng.integers(len(WORDS))] for _ in range(BATCH // 2)]
        return np.array([*(rng.choice(own) for own in half),
                         *rng.choice(self._of[-1], BATCH - BATCH // 2)])  # fmt: skip

    def seen(self, chosen: Any) -> tuple[Any, Any]:
        """Their bands, as of a larger or smaller throat and with some left out, and the frames."""
        at = torch.from_numpy(chosen).to(device())
        frames = self.frames[at]
        return _changed(self.bands[at, : int(frames.max())].float()), frames


def _padded(several: Sequence[Short]) -> tuple[Any, Any]:
    lengths = [len(each) for each in several]
    made = np.zeros((len(several), max(lengths), several[0].shape[1]), np.float16)
    for row, each in enumerate(several):
        made[row, : len(each)] = each
    return torch.from_numpy(made).to(device()), torch.tensor(lengths, device=device())


def _changed(bands: Any) -> Any:
    """No single band or moment is to be relied on."""
    count, frames, width = bands.shape

    def drawn(low: float, high: float) -> Any:
        return low + (high - low) * torch.rand(count, 1, device=bands.device)

    places = torch.arange(width, device=bands.device)[None]
    at = (places * drawn(0.93, 1.08) + drawn(-1.5, 1.5)).clamp(0, width - 1.001)
    below = at.long()[:, None].expand(-1, frames, -1)
    share = (at % 1)[:, None]
    made = bands.gather(2, below) * (1 - share) + bands.gather(2, below + 1) * share
    moments = torch.arange(frames, device=bands.device)[None]
    for _ in range(2):
        first, wide = drawn(-8, width), drawn(0, 8)
        made = made * ~((places >= first) & (places < first + wide))[:, None]
        first, wide = drawn(-15, frames), drawn(0, 15)
        made = made * ~((moments >= first) & (moments < first + wide))[:, :, None]
    return made


def _fitted(
    examples: _Examples, names: frozenset[str] | None, rate: float, tell: Callable[[str], None]
) -> Values:
    torch.manual_seed(1)
    rng, weights, before = np.random.default_rng(1), _begun(), _begun()
    own = [v for name, v in weights.items() if names is None or name.split(".")[0] in names]
    descent = torch.optim.AdamW(own, rate, (0.9, 0.98), weight_decay=0.02)
    for step in range(STEPS):
        falls = 0.5 + 0.5 * np.cos(np.pi * step / STEPS)
        descent.param_groups[0]["lr"] = rate * min(1.0, (step + 1) / WARM) * falls
        worth = _worth(examples, examples.drawn(rng), rng, weights, before, names is None)
        descent.zero_grad(set_to_none=True)
        worth.backward()
        torch.nn.utils.clip_grad_norm_(own, 2.0)
        descent.step()
        if (step + 1) % 100 == 0:
            tell(f"step {step + 1} of {STEPS}: {float(worth.detach()):.3f}")
    return {name: value.detach().cpu().numpy() for name, value in weights.items()}


def _worth(
    examples: _Examples,
    chosen: Any,
    rng: np.random.Generator,
    weights: Weights,
    before: Weights,
    whole: bool,
) -> Any:
    """Cross-entropy of words and none; where all is fitted also the phones that are known, and
    where they are not, that the phones are heard as before."""
    seen, frames = examples.seen(chosen)
    made = _forward(weights, seen, frames, drop=True)
    labels = torch.tensor(examples.labels[chosen], device=device())
    counts = torch.where(labels == len(WORDS), NONE_COUNTS, 1.0)
    each = F.cross_entropy(made.phrases.float(), labels, reduction="none", label_smoothing=0.02)
    worth = (each * counts).sum() / counts.sum()
    if not whole:
        return worth
    with torch.no_grad():
        told = _forward(before, seen, frames, drop=False).phones.float().log_softmax(-1)
    logs = made.phones.float().log_softmax(-1)
    said = [examples.sounds[n] for n in chosen]
    known = torch.tensor([bool(several) for several in said], device=device())
    return worth + _ctc(rng, logs, made, said)[known].mean() + _as_before(logs, told, made, known)


def _as_before(logs: Any, told: Any, made: Outputs, known: Any) -> Any:
    there = torch.arange(logs.shape[1], device=device())[None] < made.rows[:, None]
    apart = ((told.exp() * (told - logs)).sum(-1) * there).sum(1) / made.rows
    return apart[~known].mean()


def _ctc(rng: np.random.Generator, logs: Any, made: Outputs, said: Sequence[Any]) -> Any:
    """For each phone and four more; one of the pronunciations at random."""
    ones = [several[int(rng.integers(len(several)))] if several else (1,) for several in said]
    made_of = np.zeros((len(said), _MOST_SOUNDS), np.int64)
    for row, one in enumerate(ones):
        made_of[row, : len(one)] = one
    targets = torch.from_numpy(made_of).to(device())
    lengths = torch.tensor([len(one) for one in ones], device=device())
    each = F.ctc_loss(logs.transpose(0, 1), targets, made.rows, lengths, blank=BLANK,
                      reduction="none", zero_infinity=True)  # fmt: skip
    return each / (lengths + 4)


def _forward(weights: Weights, seen: Any, frames: Any, *, drop: bool) -> Outputs:
    if device() == "cpu":
        return forward(weights, seen, frames, drop=drop)
    with torch.autocast("cuda", torch.bfloat16):
        return forward(weights, seen, frames, drop=drop)


def outputs(values: Values, several: Sequence[Short]) -> tuple[Any, list[Any]]:
    """What is said of these bands: each word and none before the softmax (n, 7), and the phones'
    logarithms."""
    weights = {name: torch.from_numpy(value).to(device()) for name, value in values.items()}
    words, phones = [], []
    for at in range(0, len(several), 256):
        part = several[at : at + 256]
        seen, frames = _padded(part)
        with torch.no_grad():
            made = forward(weights, seen.float(), frames)
        words.append(made.phrases.float().cpu().numpy())
        logs = made.phones.float().log_softmax(-1).cpu().numpy()
        phones += [logs[n, :rows] for n, rows in enumerate(made.rows.tolist())]
    return np.concatenate(words), phones
