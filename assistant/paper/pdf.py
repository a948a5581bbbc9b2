"""HTML as PDF by WeasyPrint, which asks nothing of any network here."""

from __future__ import annotations

import logging
from typing import Any

from assistant.errors import Refusal

_CURE = (
    "install it with its own library Pango, or write an HTML file (--out sheet.html) "
    "and print that from a browser"
)


def pdf_of(html: str) -> bytes:
    """The pages as PDF. Raises Refusal where WeasyPrint or its library is missing."""
    written: bytes = _made_ready(html).write_pdf(pdf_variant="pdf/ua-1")
    return written


def pages_of(html: str) -> int:
    """How many pages this takes on its paper. Raises Refusal as `pdf_of` does."""
    return len(_made_ready(html).render().pages)


def _made_ready(html: str) -> Any:
    logging.getLogger("weasyprint").setLevel(logging.CRITICAL)
    logging.getLogger("fontTools").setLevel(logging.CRITICAL)
    try:
        from weasyprint import HTML
        from weasyprint.urls import URLFetcher
    except (ImportError, OSError) as error:
        why = str(error).splitlines()[0][:80]
        raise Refusal(f"PDF needs WeasyPrint ({why}): {_CURE}") from error
    # Drawings lie in the page itself; nothing else may be opened, by whatever name.
    fetcher = URLFetcher(allowed_protocols=("data",), allow_redirects=False)
    return HTML(string=html, url_fetcher=fetcher)
