"""What a known cut is asked with in the same words every time.

No sentence here holds a figure, or anything that may be another at the next cut: what is known by
rote can be said as fast as people talk, and the figures between it stay slower.
"""

from __future__ import annotations

from assistant.words.language import mark, say

_SENTENCES = (
    mark("Lock off."),
    mark("Arms."),
    mark("Lock."),
    mark("Arms, lock."),
    mark("Pin at the mark."),
    mark("Lever, guard?"),
    mark("Vice, guard?"),
    mark("Guard?"),
)
_SEEN = (mark("Tight and shut"), mark("Guard shut"))


def by_rote() -> frozenset[str]:
    """These sentences in the language in force."""
    cuts = (say("{seen}: cut.", seen=say(seen)) for seen in _SEEN)
    return frozenset((*map(say, _SENTENCES), *cuts))
