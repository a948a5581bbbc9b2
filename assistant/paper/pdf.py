"""HTML as PDF by WeasyPrint, which asks nothing of any network here."""

from __future__ import annotations

import importlib
import io
import logging
from contextlib import redirect_stderr, redirect_stdout
from typing import Any

from assistant.errors import Refusal
from assistant.files.packages_here import PAPER, not_here, to_install, to_install_python

_OR = "or write an HTML file (--out sheet.html) and print that from a browser"


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
    if why := unable():
        raise Refusal(f"no PDF: {why}", f"{to_install(PAPER)}; {_OR}")
    from weasyprint import HTML
    from weasyprint.urls import URLFetcher

    # Drawings lie in the page itself; nothing else may be opened, by whatever name.
    fetcher = URLFetcher(allowed_protocols=("data",), allow_redirects=False)
    return HTML(string=html, url_fetcher=fetcher)


def unable() -> str:
    """Why no PDF can be made here, or nothing. What the library itself would print is dropped."""
    try:
        with io.StringIO() as dropped, redirect_stdout(dropped), redirect_stderr(dropped):
            importlib.import_module("weasyprint")
    except ImportError as error:
        return f"{not_here(error)}: {to_install_python('weasyprint')}"
    except OSError:
        return "the library Pango is not installed"
    return ""
