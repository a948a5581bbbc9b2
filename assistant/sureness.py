"""How sure a recogniser must be at the least: the one place for engine, hearing and settings.

The settings may ask for more, never for less: what they let through below these the engine
would ask for again, so that a lower setting could not act.
"""

from __future__ import annotations

SURE_ENOUGH = 0.6
"""0 to 1: below this an utterance is taken for talk, or asked for again."""

SURE_FOR_LOCK_AND_GUARD = 0.9
"""The same for what stands between the person and the cutter."""
