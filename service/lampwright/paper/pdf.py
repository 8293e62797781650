"""The printed sheet as a tagged PDF (PDF/UA-1, ISO 14289-1), for the extra ``pdf``.

The page that ``paper.html`` makes is laid out by WeasyPrint, an extra that nothing else needs: it is
imported here, when a PDF is asked for, and nowhere else. Nothing is fetched while it is laid out.
"""

from __future__ import annotations

import logging
from typing import Any

from lampwright.errors import LampwrightError
from lampwright.paper.html import render_html
from lampwright.planner.models.build import Sheet

# Where WeasyPrint lays out otherwise than browsers do.
_STYLE = """
@page{{size:{paper}}}
.sheet .steps li>.tick{{align-self:start;margin-top:.3mm}}
.sheet .head{{display:block}}
.sheet .top{{display:flex;gap:0 6mm;align-items:center;justify-content:space-between}}
.sheet .top .key,.sheet .top .key div{{flex:none}}
.sheet .top .key{{gap:0 3mm}}
.sheet .top .safe{{font-size:10pt;padding:.5mm 1.5mm}}
.sheet .key dd{{font-size:11pt}}
.sheet td{{padding-right:1mm}}
.sheet td .fill{{min-width:0;width:95%}}
.sheet th{{overflow-wrap:normal;padding-right:0}}
"""
HOW = "a PDF needs the extra: pip install 'lampwright[pdf]'; or print the HTML sheet from a browser"


class NoPdfError(LampwrightError):
    """WeasyPrint is not installed, or one of the system's libraries it needs is not there."""


def render_pdf(sheet: Sheet, address: str | None = None, *, paper: str = "A4") -> bytes:
    """Return the sheet as a tagged PDF.

    Parameters
    ----------
    sheet : Sheet
        As ``sheets.build.build_sheet`` gives it.
    address : str, optional
        Where the calculator page stands; see ``paper.html``.
    paper : str
        A4 or Letter.

    Raises
    ------
    NoPdfError
        Without the extra, or without the libraries of the system it stands on.
    """
    try:
        from weasyprint import HTML
    except (ImportError, OSError) as error:
        raise NoPdfError(HOW) from error
    logging.getLogger("weasyprint").setLevel(logging.ERROR)
    # After the sheet's own rules, so that these win.
    text = render_html(sheet, address).replace("</style>", f"{_STYLE.format(paper=paper)}</style>", 1)
    page = HTML(string=text, url_fetcher=_nothing)
    # The widths of the columns are attributes of HTML: hints.
    made: bytes = page.write_pdf(pdf_variant="pdf/ua-1", presentational_hints=True)
    return made


def _nothing(url: str, *args: Any, **settings: Any) -> dict[str, Any]:
    """Fetch nothing: a sheet carries all it needs."""
    raise ValueError(f"a sheet loads nothing, but {url[:80]} was asked for")
