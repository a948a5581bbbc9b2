"""The page of first choices is what the solver chooses now, so nobody argues with an old one."""

from __future__ import annotations

from tests.docs import order


def test_the_page_of_first_choices_is_made_from_the_solver() -> None:
    """Else run `python -m tests.docs.order`."""
    assert order.PAGE.read_text("utf-8") == order.page()
