"""When an answer may come before the silence has run out."""

from __future__ import annotations

from assistant.hearing.deciding import certain


def test_a_certain_phrase_is_answered_early() -> None:
    """What is hardly in doubt is answered while the silence still lasts; what is not, is not."""
    assert certain(0.93, 0.13, strict=False)
    assert not certain(0.85, 0.13, strict=False)


def test_lock_and_guard_wait_longer_and_need_more() -> None:
    """What lets the cutter near the work is answered early only when nearly beyond doubt."""
    assert certain(0.99, 0.2, strict=True)
    assert not certain(0.99, 0.13, strict=True)
    assert not certain(0.96, 0.3, strict=True)
