"""Fits the phone network: CTC on the phones, and a classifier of phrases that is not shipped."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import torch
from torch.nn import functional as F  # noqa: N812 - its usual name

from assistant.hearing.phones.network import BLANK
from assistant.hearing.training.phones.network import Outputs, Tensor, Weights, forward, fresh
from assistant.hearing.training.phones.spoiling import Batch, Spoiler
from assistant.hearing.training.phones.store import Store

LABELS_OVER = 2
"""Outputs of the classifier more than there are phrases: the last is "none", one is spare."""


@dataclass(frozen=True)
class PhoneCourse:
    """How long and how boldly to fit."""

    steps: int = 6900
    batch: int = 256
    rate: float = 1.4e-3
    warm: int = 400  # steps until the full rate
    decay: float = 0.02
    keep: float = 0.999  # of the mean of the weights in each step
    clip: float = 2.0
    seed: int = 1

    def rate_at(self, step: int) -> float:
        """A rise, then half a cosine; `step` from 0."""
        falls = 0.5 + 0.5 * math.cos(math.pi * step / self.steps)
        return self.rate * min(1.0, (step + 1) / self.warm) * falls + 2e-6


def fit(
    store: Store,
    spoiler: Spoiler,
    phrases: int,
    course: PhoneCourse,
    device: str,
    tell: Callable[[str], None],
) -> tuple[Weights, list[float]]:
    """The mean of the weights on the way, and the loss of each step."""
    labels = phrases + LABELS_OVER
    torch.manual_seed(course.seed)
    rng = np.random.default_rng(course.seed)
    weights = fresh(labels, course.seed, device)
    mean = {name: value.detach().clone() for name, value in weights.items()}
    values = list(weights.values())
    descent = torch.optim.AdamW(values, course.rate, (0.9, 0.98), weight_decay=course.decay)
    todo: list[Any] = []
    losses: list[float] = []
    began = time.monotonic()
    for step in range(course.steps):
        todo = todo or store.batches(rng, course.batch)
        batch = spoiler.batch(todo.pop(), labels, rng)
        for group in descent.param_groups:
            group["lr"] = course.rate_at(step)
        made = _forward(weights, batch, device)
        worth = loss(made, batch)
        descent.zero_grad(set_to_none=True)
        worth.backward()
        torch.nn.utils.clip_grad_norm_(values, course.clip)
        descent.step()
        _average(mean, weights, min(course.keep, (step + 1) / (step + 51)))
        losses.append(float(worth.detach()))
        if (step + 1) % 100 == 0:
            took = time.monotonic() - began
            tell(f"step {step + 1} of {course.steps}, {took:.0f} s: {np.mean(losses[-100:]):.3f}")
    return mean, losses


def _forward(weights: Weights, batch: Batch, device: str) -> Outputs:
    if device == "cpu":
        return forward(weights, batch.bands, batch.frames, drop=True)
    with torch.autocast(device, torch.bfloat16):
        return forward(weights, batch.bands, batch.frames, drop=True)


def loss(made: Outputs, batch: Batch) -> Tensor:
    """CTC at the end, 0.3 of it half way, 0.5 of the classifier."""
    told = F.cross_entropy(
        made.phrases.float(), batch.phrase, reduction="none", label_smoothing=0.02
    )
    phrases = (told * batch.phrase_weight).sum() / batch.phrase_weight.sum()
    end, half_way = _ctc(made.phones, made.rows, batch), _ctc(made.half_way, made.rows, batch)
    return end + 0.3 * half_way + 0.5 * phrases


def _ctc(outputs: Tensor, rows: Tensor, batch: Batch) -> Tensor:
    """For each phone and four more, so that short words count too."""
    logs = outputs.float().log_softmax(-1).transpose(0, 1)
    each = F.ctc_loss(
        logs, batch.sounds, rows, batch.count, blank=BLANK, reduction="none", zero_infinity=True
    )
    shares = each * batch.sound_weight / (batch.count + 4)
    return shares.sum() / batch.sound_weight.sum().clamp(min=1)


def _average(mean: Weights, weights: Weights, keep: float) -> None:
    with torch.no_grad():
        for name, value in weights.items():
            mean[name].lerp_(value, 1 - keep)
