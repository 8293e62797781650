"""A resistor with its colour bands drawn and named.

The bands' colours are those of IEC 60062 (as public texts repeat it); each is also named by its letters
and in words, so the picture reads in greyscale.
"""

from __future__ import annotations

from lampwright.drawing.svg import INK, line, n, path, picture, words
from lampwright.drawing.symbols import COLOUR_LETTERS

# The paint of each band on screen and paper; our own choice of shades, apart in lightness.
PAINT = {
    "black": "#111111",
    "brown": "#7b4a21",
    "red": "#c62020",
    "orange": "#ef7d12",
    "yellow": "#f5d20a",
    "green": "#2c8a3a",
    "blue": "#1f5fbf",
    "violet": "#8a3fb0",
    "grey": "#8d8d8d",
    "white": "#ffffff",
    "gold": "#c9a227",
    "silver": "#c7ccd1",
    "pink": "#f29ac0",
}
WIDTH, HEIGHT = 220.0, 104.0


def band_letters(colour: str) -> str:
    """Return the letters of a band's colour.

    >>> band_letters("gold")
    'GD'
    """
    return COLOUR_LETTERS[colour]


def bands_svg(colours: tuple[str, ...], value: str, name: str = "bands") -> str:
    """Return a resistor with its bands, from the first digit on the left.

    Parameters
    ----------
    colours : tuple of str
        Words: three or four digits and multiplier, then tolerance.
    value : str
        The value in words, for the title: "330 Ω".
    name : str
        Prefix of ids; different for each picture of a page.
    """
    body = [
        line(4, 40, 30, 40),
        line(190, 40, 216, 40),
        path("M30 26Q30 18 38 18H182Q190 18 190 26V54Q190 62 182 62H38Q30 62 30 54Z"),
    ]
    # The last band stands apart: that is how one knows where to begin.
    pitch = 26.0 if len(colours) >= 5 else 30.0
    for place, colour in enumerate(colours):
        x = 44 + place * pitch if place + 1 < len(colours) else 164.0
        body.append(
            f'<rect x="{n(x)}" y="18" width="14" height="44" fill="{PAINT[colour]}" stroke="{INK}" '
            f'stroke-width="1"/>'
        )
        body.append(words(x + 7, 80, band_letters(colour), size=13))
    body.append(words(110, 99, value, size=14, bold=True))
    return picture(
        body,
        WIDTH,
        HEIGHT,
        name=name,
        title=f"Resistor {value}",
        description="Bands from the left: " + ", ".join(colours) + ".",
    )
