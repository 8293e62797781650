"""The build on its own sheet: a link and a code that open it again, or the text to paste."""

from __future__ import annotations

import json
import re

from lampwright.drawing.svg import clean, safe
from lampwright.planner.models.build import Sheet
from lampwright.sheets.carrying import LINK_LIMIT, carried, file_name, link_of

MASK = 2
_DARK = re.compile(rb"\x01+")


def build_text(sheet: Sheet) -> str:
    """Return the build as the text to keep or paste."""
    return json.dumps(carried(sheet.plan.ask), ensure_ascii=False)


def why_no_code(sheet: Sheet, address: str | None) -> str:
    """Return in words why there is no code, "" where there is one."""
    if not address:
        return "No code here: no address of a calculator was given."
    link = link_of(address, sheet.plan.ask)
    if len(link) > LINK_LIMIT:
        return (
            f"No code here: this build makes a link of {len(link)} characters, too long for one that scans."
        )
    return ""


def code_svg(link: str) -> str:
    """Return the code of a link as SVG."""
    import segno  # only here: a sheet without a code does not load it

    # One mask for all: the link is packed text, as good as random, and so is every masking of it. Trying
    # all eight takes longer than the rest of the sheet.
    code = segno.make(link, error="m", boost_error=False, micro=False, mask=MASK)
    size = code.symbol_size(border=4)[0]
    dark = "".join(
        f"M{x + 4} {y}h{end - x}v1H{x + 4}z"
        for y, row in enumerate(code.matrix, start=4)
        for x, end in (found.span() for found in _DARK.finditer(row))
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="code" viewBox="0 0 {size} {size}" role="img" '
        f'aria-label="Code that opens this build on the calculator page">'
        f'<path fill="#fff" d="M0 0h{size}v{size}H0z"/>'
        f'<path fill="#000" shape-rendering="crispEdges" d="{dark}"/></svg>'
    )


def carry_html(sheet: Sheet, address: str | None) -> str:
    """Return the section that lets the sheet be opened and changed by somebody else."""
    reason = why_no_code(sheet, address)
    name = safe(file_name(sheet.title))
    found = "<section><h2>Open this build again</h2>"
    if address and not reason:
        link = link_of(address, sheet.plan.ask)
        found += f'<div class="carry">{code_svg(link)}<p class="small">{safe(link)}</p></div>'
    else:
        found += f"<p>{safe(reason)}</p>"
    return (
        f'{found}<p class="small">Or keep this text as {name}; the calculator and "lampwright sheet '
        f'{name}" read it: <bdi>{safe(build_text(sheet))}</bdi></p></section>'
    )


def carry_text(sheet: Sheet, address: str | None) -> list[str]:
    """Return the same for the plain text; link and build stay on one line each, to be copied whole."""
    lines = []
    reason = why_no_code(sheet, address)
    if address and not reason:
        lines.append(link_of(address, sheet.plan.ask))
    elif address:
        lines.append(reason)
    name = file_name(sheet.title)
    lines.append(f"Keep the next line as {name}; the calculator reads it, and so does:")
    lines.append(f"lampwright sheet {name}")
    lines.append(clean(build_text(sheet)))
    return lines
