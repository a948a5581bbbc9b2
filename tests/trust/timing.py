"""How long a person takes for what is asked, in seconds. All judged: nobody was timed.

An answer comes when the question was heard, the hands have done it and the foot has come down. What
is left out takes no time: who forgets the guard answers as soon as the question is over.
"""

from __future__ import annotations

import random
from collections.abc import Sequence

from tests.trust.rates import Rates
from tests.trust.spoken import Asked

LETTER_S = 0.06  # said briskly by the program's own voice: 0.055 to 0.07 (docs/pace.md)
SPREAD = 0.35  # of the logarithm: one time in six is 1.4 times as long, or shorter by as much
TURN_S, HOLES_S = 1.5, 2.0
HANDS_S = {
    "lock": 1.0, "guard": 2.0, "unlock": 0.8, "arms": 1.0, "look at arm": 0.7, "lever": 0.7,
    "mark": 1.0, "scale": 1.5, "back off": 2.0, "come up": 2.0, "sure": 0.7,
}  # fmt: skip


def heard(text: str) -> float:
    return LETTER_S * len(text)


def hands(wanted: Sequence[Asked], left_out: Sequence[str], rates: Rates,
          chance: random.Random) -> float:  # fmt: skip
    """For what was done of it, and the foot after that."""
    done = sum(_usual(each) for each in wanted if each.what not in left_out)
    spread = chance.lognormvariate(0.0, SPREAD)
    return rates.hands * done * spread + foot(rates, chance)


def foot(rates: Rates, chance: random.Random) -> float:
    return chance.expovariate(1 / rates.react_s) if rates.react_s else 0.0


def _usual(each: Asked) -> float:
    if each.what == "move":
        return TURN_S * each.turns + (HOLES_S if each.holes else 0.0)
    return HANDS_S.get(each.what, 0.0)
