"""Write SVG text: shapes, words that fit, title and description for screen readers.

Only presentation attributes are used, no style element, so a picture may stand in a page whose
security policy forbids inline styles. Everything is drawn in ``currentColor``: a page sets the colour,
a picture alone is dark ink. Nothing here is shared between calls, so threads cannot mix pictures.
"""

from __future__ import annotations

import re
from functools import cache, lru_cache
from html import escape

INK = "#1f2730"
FONT = "system-ui, 'DejaVu Sans', Arial, sans-serif"
WIDTH = 720.0  # user units of a picture as wide as the page, 182 mm
SIZE = 14.0  # then 10 pt
SMALL = 12.5

# Marks that turn the direction of writing or hide, controls, halves of pairs and private signs: they
# would change what a reader sees, or are no text at all.
_UNSEEN = re.compile(
    "[\x00-\x08\x0e-\x1f\x7f-\x9f\u061c\u200b\u200e\u200f\u202a-\u202e\u2060-\u206f\ufeff"
    "\ud800-\udfff\ue000-\uf8ff\ufdd0-\ufdef\ufffe\uffff\U000f0000-\U0010ffff]"
)


def clean(text: str, limit: int = 0) -> str:
    r"""Return a caller's text on one line, without control characters and direction marks.

    >>> clean("a\tb\u202e<c>"), clean("x" * 9, 4)
    ('a b<c>', 'xxx…')
    """
    if limit and len(text) > 40 * limit:
        text = text[: 40 * limit]
    text = " ".join(_UNSEEN.sub("", text).split())
    if limit and len(text) > limit:
        text = text[: limit - 1].rstrip() + "…"
    return text


def safe(text: str, limit: int = 0) -> str:
    """Return a caller's text, cleaned and escaped for HTML, XML and attributes.

    >>> safe("<script>")
    '&lt;script&gt;'
    """
    return _safe_short(text, limit) if len(text) <= _SHORT else escape(clean(text, limit), quote=True)


# Most of what stands on a sheet are our own words, and they come again: short texts are kept, so many.
_SHORT = 120


@lru_cache(maxsize=2048)
def _safe_short(text: str, limit: int) -> str:
    return escape(clean(text, limit), quote=True)


@cache
def _advance(character: str) -> float:
    """Return a character's width in ems; a little wide, as of a roomy sans serif."""
    if character in "ijl.,:;'|!":
        return 0.34
    if character in " ftr()[]-/−":
        return 0.42
    if character in "mwMW—%@":
        return 0.98
    if character.isdigit():
        return 0.64
    if character.isupper() or character in "Ω+×=→":
        return 0.76
    return 0.63 if ord(character) < 0x2E80 else 1.3


def width_of(text: str, size: float = SIZE, bold: bool = False) -> float:
    """Return the room a text needs, in user units."""
    return sum(map(_advance, text)) * size * (1.1 if bold else 1.0)


def fitted(text: str, room: float, size: float = SIZE, bold: bool = False) -> str:
    """Return a text cut to the room there is, with an ellipsis where it was cut.

    >>> fitted("Window lamps", 40)
    'Win…'
    """
    text = clean(text, 200)
    if width_of(text, size, bold) <= room:
        return text
    room -= width_of("…", size, bold)
    kept = ""
    used = 0.0
    for character in text:
        used += _advance(character) * size * (1.1 if bold else 1.0)
        if used > room:
            break
        kept += character
    return kept.rstrip() + "…"


def n(value: float) -> str:
    """Return a coordinate, to a tenth.

    >>> n(12.0), n(3.14159)
    ('12', '3.1')
    """
    text = f"{value:.1f}"
    return text[:-2] if text.endswith(".0") else text


def line(x1: float, y1: float, x2: float, y2: float, *, dashed: bool = False, width: float = 2.0) -> str:
    """Return a straight line; minus wires are dashed."""
    dash = ' stroke-dasharray="7 4"' if dashed else ""
    return f'<path d="M{n(x1)} {n(y1)}L{n(x2)} {n(y2)}" stroke-width="{n(width)}"{dash}/>'


def path(d: str, *, width: float = 2.0, filled: bool = False, dashed: bool = False) -> str:
    """Return a path; coordinates are already text."""
    fill = ' fill="currentColor"' if filled else ""
    dash = ' stroke-dasharray="3 3"' if dashed else ""
    return f'<path d="{d}" stroke-width="{n(width)}"{fill}{dash}/>'


def dot(x: float, y: float, radius: float = 4.0) -> str:
    """Return the filled dot of a joint."""
    return f'<circle cx="{n(x)}" cy="{n(y)}" r="{n(radius)}" fill="currentColor" stroke="none"/>'


def words(
    x: float, y: float, text: str, *, anchor: str = "middle", size: float = SIZE, bold: bool = False
) -> str:
    """Return a text; it is escaped here."""
    weight = ' font-weight="700"' if bold else ""
    sized = "" if size == SIZE else f' font-size="{n(size)}"'
    at = "" if anchor == "start" else f' text-anchor="{anchor}"'
    return (
        f'<text x="{n(x)}" y="{n(y)}"{at}{sized}{weight} fill="currentColor" stroke="none">'
        f"{escape(text, quote=False)}</text>"
    )


def picture(body: list[str], width: float, height: float, *, name: str, title: str, description: str) -> str:
    """Return a whole SVG with its title and description."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {n(width)} {n(height)}" width="{n(width)}" '
        f'height="{n(height)}" role="img" aria-labelledby="{name}-title {name}-desc" color="{INK}">'
        f'<title id="{name}-title">{safe(title)}</title><desc id="{name}-desc">{safe(description)}</desc>'
        f'<g fill="none" stroke="currentColor" stroke-linecap="butt" stroke-linejoin="round" '
        f'font-family="{FONT}" font-size="{n(SIZE)}">' + "".join(body) + "</g></svg>"
    )
