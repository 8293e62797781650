"""TeX notation to MathML at build: no script on the page, and screen readers read it."""

from __future__ import annotations

import html

from latex2mathml.converter import convert


def mathml(tex: str, display: str = "inline") -> str:
    """Return MathML for a formula, with the TeX text as its fallback name."""
    if "\\begin" in tex:
        raise ValueError(f"one line of formula at a time, please: {tex}")
    code = convert(tex.strip(), display=display)
    # The converter calls ± and % identifiers; a reader then says them without a pause.
    for sign in ("&#x000B1;", "&#x00025;"):
        code = code.replace(f"<mi>{sign}</mi>", f"<mo>{sign}</mo>")
    if "\\" in html.unescape(code):
        raise ValueError(f"a command of this formula is not known: {tex}")
    return code
