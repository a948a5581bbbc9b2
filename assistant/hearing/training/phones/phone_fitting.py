"""Fits the phone network: CTC on the phones, and a classifier of phrases that is not shipped."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import torch
from torch import distributed
from torch.nn import functional as F  # noqa: N812 - its usual name

from assistant.hearing.phones.network import BLANK
from assistant.hearing.training.phones.band_spoiling import BandBatch, Spoiler
from assistant.hearing.training.phones.store import Store
from assistant.hearing.training.phones.torch_network import (
    Outputs,
    Tensor,
    Weights,
    forward,
    fresh_weights,
)

LABELS_OVER = 2
"""Outputs of the classifier more than there are phrases: the last is "none", one is spare."""


@dataclass(frozen=True)
class PhoneCourse:
    """How long and how boldly to fit."""

    steps: int = 9000
    batch: int = 256
    rate: float = 1.4e-3
    warm: int = 400  # steps until the full rate
    decay: float = 0.02
    keep: float = 0.999  # of the mean of the weights in each step
    clip: float = 2.0
    doubt: float = 0.1  # what the entropy of a row is worth: against being sure of a wrong phone
    distilled: float = 1.0  # what it counts to hear as the teachers hear, where there are any
    seed: int = 1

    def rate_at(self, step: int) -> float:
        """A rise, then half a cosine; `step` from 0."""
        falls = 0.5 + 0.5 * math.cos(math.pi * step / self.steps)
        return self.rate * min(1.0, (step + 1) / self.warm) * falls + 2e-6


@dataclass(frozen=True)
class Before:
    """Weights to go on from, which stay as they are, and networks to learn from."""

    weights: Weights | None = None
    teachers: Sequence[Weights] = ()


def fit_phones(
    store: Store,
    spoiler: Spoiler,
    phrases: int,
    course: PhoneCourse,
    device: str,
    tell: Callable[[str], None],
    before: Before = Before(),
) -> tuple[Weights, list[float]]:
    """The mean of the weights on the way, and the loss of some steps."""
    labels = phrases + LABELS_OVER
    torch.manual_seed(course.seed)
    rng = np.random.default_rng(course.seed)
    first = before.weights or fresh_weights(labels, course.seed, device)
    weights = {name: value.detach().clone().requires_grad_() for name, value in first.items()}
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
        made = _forward(weights, batch, device, drop=True)
        worth = loss(made, batch, course.doubt)
        if before.teachers:
            told = _told(before.teachers, batch, device)
            worth = worth + course.distilled * unlike(made, told, batch)
        descent.zero_grad(set_to_none=True)
        worth.backward()
        averaged(values)
        torch.nn.utils.clip_grad_norm_(values, course.clip)
        descent.step()
        _average(mean, weights, min(course.keep, (step + 1) / (step + 51)))
        if (step + 1) % 10 == 0 or step < 100:
            losses.append(float(worth.detach()))
        if (step + 1) % 100 == 0:
            took = time.monotonic() - began
            tell(f"step {step + 1} of {course.steps}, {took:.0f} s: {np.mean(losses[-10:]):.3f}")
    return mean, losses


def _forward(weights: Weights, batch: BandBatch, device: str, *, drop: bool) -> Outputs:
    if device == "cpu":
        return forward(weights, batch.bands, batch.frames, drop=drop)
    with torch.autocast(device, torch.bfloat16):
        return forward(weights, batch.bands, batch.frames, drop=drop)


def _told(teachers: Sequence[Weights], batch: BandBatch, device: str) -> Tensor:
    """The mean of the chances that the teachers give each phone."""
    with torch.no_grad():
        made = [_forward(each, batch, device, drop=False).phones for each in teachers]
        return torch.stack([each.float().softmax(-1) for each in made]).mean(0)


def loss(made: Outputs, batch: BandBatch, doubt: float = 0.0) -> Tensor:
    """CTC at the end, 0.3 of it half way, 0.5 of the classifier, less `doubt` for each row's
    entropy (Pereyra et al., 2017)."""
    told = F.cross_entropy(
        made.phrases.float(), batch.phrase, reduction="none", label_smoothing=0.02
    )
    phrases = (told * batch.phrase_weight).sum() / batch.phrase_weight.sum()
    end, half_way = _ctc(made.phones, made.rows, batch), _ctc(made.half_way, made.rows, batch)
    logs = made.phones.float().log_softmax(-1)
    entropy = _over_rows(-(logs.exp() * logs).sum(-1), made).sum() / made.rows.sum()
    return end + 0.3 * half_way + 0.5 * phrases - doubt * entropy


def unlike(made: Outputs, told: Tensor, batch: BandBatch) -> Tensor:
    """How far from what the teachers tell (Kullback and Leibler), for each phone and four more."""
    logs = made.phones.float().log_softmax(-1)
    each = (told * (told.clamp(min=1e-9).log() - logs)).sum(-1)
    return (_over_rows(each, made).sum(1) / (batch.count + 4)).mean()


def _over_rows(each: Tensor, made: Outputs) -> Tensor:
    return each * (torch.arange(each.shape[1], device=each.device)[None] < made.rows[:, None])


def _ctc(outputs: Tensor, rows: Tensor, batch: BandBatch) -> Tensor:
    """For each phone and four more, so that short words count too."""
    logs = outputs.float().log_softmax(-1).transpose(0, 1)
    each = F.ctc_loss(
        logs, batch.sounds, rows, batch.count, blank=BLANK, reduction="none", zero_infinity=True
    )
    shares = each * batch.sound_weight / (batch.count + 4)
    return shares.sum() / batch.sound_weight.sum().clamp(min=1)


def averaged(values: Sequence[Tensor]) -> None:
    """Where several processors fit together, each to its own batch: the mean of their gradients."""
    if not (distributed.is_available() and distributed.is_initialized()):
        return
    flat = torch.cat([value.grad.reshape(-1) for value in values])
    distributed.all_reduce(flat)
    flat /= distributed.get_world_size()
    at = 0
    for value in values:
        value.grad.copy_(flat[at : at + value.numel()].view_as(value))
        at += value.numel()


def _average(mean: Weights, weights: Weights, keep: float) -> None:
    with torch.no_grad():
        for name, value in weights.items():
            mean[name].lerp_(value, 1 - keep)
