"""The signs for parts, drawn by ourselves after the practice of IEC 60617 (from memory: not read).

Each function draws one part with its middle at (x, y), current running from left to right, and returns
SVG text.
"""

from __future__ import annotations

from lampwright.drawing.svg import n, path, words

PART_WIDTH = 2.2  # pen for symbols

# Colour letters as IEC 60757 has them, from memory; WW for warm white and the like are our own.
COLOUR_LETTERS = {
    "red": "RD",
    "deep_red": "RD",
    "orange": "OG",
    "amber": "AM",
    "yellow": "YE",
    "yellow_green": "YG",
    "green": "GN",
    "blue": "BU",
    "violet": "VT",
    "purple": "VT",
    "pink": "PK",
    "white": "WH",
    "cool_white": "WH",
    "warm_white": "WW",
    "infrared": "IR",
    "ultraviolet": "UV",
    "black": "BK",
    "brown": "BN",
    "grey": "GY",
    "gold": "GD",
    "silver": "SR",
    "turquoise": "TQ",
    "cyan": "TQ",
}


def colour_letters(colour: str) -> str:
    """Return the letters for a colour, or "" where it is not known.

    >>> colour_letters("red"), colour_letters("")
    ('RD', '')
    """
    return COLOUR_LETTERS.get(colour, colour[:2].upper() if colour else "")


def polarity(x: float, y: float, half: float) -> str:
    """Return the plus and minus marks at the two ends of a part, above the wire."""
    return words(x - half, y - 7, "+", size=15, bold=True) + words(x + half, y - 7, "−", size=15, bold=True)


def led(x: float, y: float, *, prewired: bool = False) -> str:
    """Return a light-emitting diode: triangle towards minus, bar, two arrows away from it."""
    shape = path(
        f"M{n(x - 8)} {n(y - 10)}V{n(y + 10)}L{n(x + 8)} {n(y)}ZM{n(x + 8)} {n(y - 10)}V{n(y + 10)}",
        width=PART_WIDTH,
    )
    # The arrows point down and out: above the part stand its label and marks.
    for shift in (0.0, 8.0):
        ax, ay = x - 1 + shift, y + 9
        shape += path(
            f"M{n(ax)} {n(ay)}L{n(ax + 8)} {n(ay + 9)}m-1 -5.5l1 5.5l-5.5 -.8", width=1.5, filled=False
        )
    if prewired:  # the sleeve that hides a resistor
        shape += path(
            f"M{n(x - 27)} {n(y - 22)}H{n(x + 27)}V{n(y + 23)}H{n(x - 27)}Z", width=1.3, dashed=True
        )
    return shape


def resistor(x: float, y: float) -> str:
    """Return a resistor: a plain box in the line."""
    return path(f"M{n(x - 20)} {n(y - 8)}H{n(x + 20)}V{n(y + 8)}H{n(x - 20)}Z", width=PART_WIDTH)


def fuse(x: float, y: float) -> str:
    """Return a fuse: a box with the wire running through it."""
    return path(
        f"M{n(x - 20)} {n(y - 8)}H{n(x + 20)}V{n(y + 8)}H{n(x - 20)}ZM{n(x - 20)} {n(y)}H{n(x + 20)}",
        width=PART_WIDTH,
    )


def switch(x: float, y: float) -> str:
    """Return a switch, drawn open."""
    return path(
        f"M{n(x - 20)} {n(y)}H{n(x - 13)}L{n(x + 12)} {n(y - 14)}M{n(x + 12)} {n(y)}H{n(x + 20)}",
        width=PART_WIDTH,
    )


def plug(x: float, y: float, *, socket: int = 1) -> str:
    """Return a plug in its socket: a thick pin, and the cup that takes it on the right (-1: on the left)."""
    pin = path(f"M{n(x - 9 * socket)} {n(y)}H{n(x + 2 * socket)}", width=4.5)
    return pin + path(
        f"M{n(x + 2 * socket)} {n(y - 7)}A7 7 0 0 {1 if socket > 0 else 0} {n(x + 2 * socket)} {n(y + 7)}",
        width=PART_WIDTH,
    )


def battery(x: float, y: float, cells: int) -> str:
    """Return a battery, plus on the left: long thin plate plus, short thick plate minus."""
    drawn = 1 if cells == 1 else 2
    start = x - (6 if drawn == 1 else 16)
    shape = ""
    for cell in range(drawn):
        at = start + cell * 20
        shape += path(f"M{n(at)} {n(y - 15)}V{n(y + 15)}", width=PART_WIDTH)
        shape += path(f"M{n(at + 12)} {n(y - 8)}V{n(y + 8)}", width=4.5)
        if cell + 1 < drawn:
            shape += path(f"M{n(at + 12)} {n(y)}H{n(at + 20)}", width=1.5, dashed=cells > 2)
    end = start + (drawn - 1) * 20 + 12
    return shape + path(f"M{n(x - 40)} {n(y)}H{n(start)}M{n(end)} {n(y)}H{n(x + 40)}", width=2)


def supply_box(x: float, y: float) -> str:
    """Return a ready-made direct-current supply: a box with the sign for direct current."""
    return path(f"M{n(x - 40)} {n(y - 18)}H{n(x + 40)}V{n(y + 18)}H{n(x - 40)}Z", width=PART_WIDTH) + path(
        f"M{n(x - 12)} {n(y - 4)}H{n(x + 12)}M{n(x - 12)} {n(y + 4)}h6m3 0h6m3 0h6", width=PART_WIDTH
    )
