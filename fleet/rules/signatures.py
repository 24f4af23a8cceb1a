"""A signature as it was drawn on a screen: strokes of points in a box, written as text, exactly as they were drawn."""

import re

# How wide and how high the box is that every signature is drawn in, whatever screen it was drawn on.
BOX = (600, 200)
# Some six thousand points: more than a minute's writing.
LONGEST = 50_000
# Why nobody signed.
UNSIGNED = ("nobody there", "declined", "on paper")

Stroke = tuple[tuple[int, int], ...]
_SHAPE = re.compile(r"[0-9]{1,3},[0-9]{1,3}(?:[ ;][0-9]{1,3},[0-9]{1,3})*")


class NoSignature(ValueError):
    """What is no signature; its text says what is wanted."""


def read(text: str) -> tuple[Stroke, ...]:
    """The strokes of a text such as "10,20 14,22;30,40 31,44"; raises NoSignature.

    >>> read("10,20 14,22;30,40")
    (((10, 20), (14, 22)), ((30, 40),))
    >>> write(read("10,20 14,22;30,40"))
    '10,20 14,22;30,40'
    """
    if len(text) > LONGEST or not _SHAPE.fullmatch(text):
        raise NoSignature("a signature as it is drawn on the screen")
    strokes = tuple(
        tuple((int(x), int(y)) for x, _, y in (point.partition(",") for point in stroke.split(" ")))
        for stroke in text.split(";")
    )
    points = {point for stroke in strokes for point in stroke}
    if any(x > BOX[0] or y > BOX[1] for x, y in points):
        raise NoSignature("a signature within its box")
    if len(points) == 1:
        raise NoSignature("a signature, not a single dot")
    return strokes


def write(strokes: tuple[Stroke, ...]) -> str:
    """Strokes as text."""
    return ";".join(" ".join(f"{x},{y}" for x, y in stroke) for stroke in strokes)
