"""Who is heard in training, who in choosing a rule, who in figures: never one for two of them."""

from __future__ import annotations

from collections.abc import Iterable

UNTOUCHED = frozenset({"af_bella", "bm_lewis", "bm_fable", "am_fenrir", "hf_alpha", "em_alex"})
"""Speakers for checks from outside: neither trained on, nor blended in, nor tested with."""

FIGURES = frozenset({
    "bm_george", "bf_emma", "am_michael", "af_sarah", "bf_alice", "af_nicole", "am_onyx",
    "am_puck", "af_river", "if_sara", "hm_omega", "zf_xiaoni", "pm_alex", "ff_siwis", "zm_yunxi",
    "ef_dora", "am_santa",
})  # fmt: skip
"""Speakers of the figures in the documentation."""

CHOICES = frozenset({"af_nova", "am_echo", "im_nicola", "hf_beta"})
"""Speakers on whom margins and thresholds are chosen."""

_PEOPLE = {"train": "456789ab", "choices": "cd", "figures": "ef", "untouched": "0123"}


def trained(names: Iterable[str]) -> list[str]:
    """Of these speakers those who may be heard in training, sorted."""
    return sorted(set(names) - UNTOUCHED - FIGURES - CHOICES)


def part_of_person(person: str) -> str:
    """ "train", "choices", "figures" or "untouched", by the first digit (of sixteen) of the id
    that the set of recordings gives a person. Raises ValueError for what is no such id."""
    for part, begins in _PEOPLE.items():
        if person[:1] and person[0] in begins:
            return part
    raise ValueError(f"{person!r}: no person's id")
