"""A small drawing of lines, arcs and dimensions: written as SVG, or with dots of text on a terminal."""

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from html import escape

import numpy as np

from valvetrain.mechanics.arrays import FloatArray

__all__ = ["Drawing", "svg", "text_picture"]

_SHARES = {"start": 0.0, "middle": 0.5, "end": 1.0}
_BRAILLE = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))


@dataclass
class Drawing:
    """Lines in any unit, x to the right, y up.

    Attributes:
        title: what it shows, for who does not see it as well.
        lines: points [n, 2] and style: "part" (heavy), "thin", "hidden" (dashed), "mark" (dimension).
        words: text, x, y, and where it stands: "start", "middle" or "end" at that place.
    """

    title: str
    lines: list[tuple[FloatArray, str]] = field(default_factory=list)
    words: list[tuple[str, float, float, str]] = field(default_factory=list)

    def line(self, points: Iterable[tuple[float, float]], style: str = "part") -> None:
        """Add a line through points."""
        self.lines.append((np.array(list(points), float), style))

    def arc(
        self,
        center: tuple[float, float],
        radius: float,
        start: float = 0.0,
        end: float = 2 * np.pi,
        style: str = "part",
    ) -> None:
        """Add an arc, angles from +x [rad]."""
        turn = np.linspace(start, end, 61)
        self.line(
            zip(center[0] + radius * np.cos(turn), center[1] + radius * np.sin(turn), strict=True), style
        )

    def box(self, left: float, bottom: float, right: float, top: float, style: str = "part") -> None:
        """Add a rectangle."""
        self.line([(left, bottom), (right, bottom), (right, top), (left, top), (left, bottom)], style)

    def say(self, text: str, x: float, y: float, anchor: str = "start") -> None:
        """Add words."""
        self.words.append((text, x, y, anchor))

    def measure(
        self, name: str, first: tuple[float, float], last: tuple[float, float], head: float, side: float = 1.0
    ) -> None:
        """Mark a distance with arrow heads of size `head`, and its name beside the middle."""
        a, b = np.array(first, float), np.array(last, float)
        length = float(np.hypot(*(b - a)))
        along = (b - a) / length if length else np.array([1.0, 0.0])
        across = np.array([-along[1], along[0]])
        self.line([tuple(a), tuple(b)], "mark")
        # Arrow heads stand outside where there is no room between.
        inside = 1.0 if length > 3 * head else -1.0
        for place, way in ((a, inside), (b, -inside)):
            ends = [place + way * head * along + sign * 0.4 * head * across for sign in (1, -1)]
            self.line([tuple(ends[0]), tuple(place), tuple(ends[1])], "mark")
            if inside < 0:
                self.line([tuple(place), tuple(place + way * 2.5 * head * along)], "mark")
        middle = 0.5 * (a + b) + side * 0.9 * head * across
        vertical = abs(along[1]) > abs(along[0])
        anchor = "middle" if not vertical else ("start" if side * across[0] > 0 else "end")
        self.say(name, float(middle[0]), float(middle[1]), anchor)

    def bounds(self) -> tuple[float, float, float, float]:
        """Return left, bottom, right, top of the lines."""
        points = np.concatenate([points for points, _ in self.lines])
        low, high = points.min(axis=0), points.max(axis=0)
        return float(low[0]), float(low[1]), float(high[0]), float(high[1])


_STYLES = {
    "part": 'stroke-width="2.2"',
    "thin": 'stroke-width="1"',
    "hidden": 'stroke-width="1" stroke-dasharray="5 4"',
    "mark": 'stroke-width="1.1"',
}
_LETTER = 15.0  # height of letters [px]


def svg(drawing: Drawing, identity: str, width: float = 640.0, most_height: float = 460.0) -> str:
    """Write the drawing as an SVG element; `identity` makes its title's id its own on the page."""
    left, bottom, right, top = drawing.bounds()
    # Words may stand outside of the lines: room for them is found at the scale that results.
    scale = 1.0
    for _ in range(3):
        pad = [24.0, 24.0, 24.0, 24.0]
        for text, x, y, anchor in drawing.words:
            wide = 0.56 * _LETTER * len(text)
            start = x * scale - _SHARES[anchor] * wide
            pad[0] = max(pad[0], left * scale - start + 8)
            pad[2] = max(pad[2], start + wide - right * scale + 8)
            pad[1] = max(pad[1], bottom * scale - y * scale + _LETTER + 4)
            pad[3] = max(pad[3], y * scale - top * scale + _LETTER + 4)
        across, up = max(right - left, 1e-9), max(top - bottom, 1e-9)
        scale = min((width - pad[0] - pad[2]) / across, (most_height - pad[1] - pad[3]) / up)
    height = up * scale + pad[1] + pad[3]

    def place(x: float, y: float) -> str:
        return f"{pad[0] + (x - left) * scale:.1f},{pad[3] + (top - y) * scale:.1f}"

    wide = across * scale + pad[0] + pad[2]
    out = [
        f'<svg viewBox="0 0 {wide:.0f} {height:.0f}" width="{wide:.0f}" role="img" '
        f'aria-labelledby="{escape(identity)}" fill="none" stroke="currentColor" '
        'stroke-linecap="round" stroke-linejoin="round">',
        f'<title id="{escape(identity)}">{escape(drawing.title)}</title>',
    ]
    for points, style in drawing.lines:
        path = " ".join(place(float(x), float(y)) for x, y in points)
        out.append(f'<polyline {_STYLES[style]} points="{path}"/>')
    for text, x, y, anchor in drawing.words:
        at = place(x, y).split(",")
        out.append(
            f'<text x="{at[0]}" y="{float(at[1]) + 0.35 * _LETTER:.1f}" text-anchor="{anchor}" '
            f'class="word">{escape(text)}</text>'
        )
    return "\n".join([*out, "</svg>"])


def text_picture(drawing: Drawing, columns: int = 76, rows: int = 24, plain: bool = False) -> str:
    """Write the drawing with dots of text.

    Args:
        drawing: what to write.
        columns, rows: the most room it may take.
        plain: only letters that every terminal has, in place of Braille's dots.
    """
    left, bottom, right, top = drawing.bounds()
    per_x, per_y = (1, 1) if plain else (2, 4)
    # A letter is about twice as high as wide: with Braille's 2 by 4 dots they stand square.
    aspect = 2.0 if plain else 1.0
    words = drawing.words
    across, up = max(right - left, 1e-9), max(top - bottom, 1e-9)
    room, after, scale = 1, 1, 1.0
    for _ in range(3):
        scale = min(((columns - room - after) * per_x - 1) / across, (rows * per_y - 1) * aspect / up)
        for text, x_word, _, anchor in words:
            start = (x_word - left) * scale / per_x - _SHARES[anchor] * len(text)
            room = max(room, math.ceil(-start))
            after = max(after, math.ceil(start + len(text) - across * scale / per_x) + 1)
    wide = int(across * scale / per_x) + room + after + 1
    high = int(up * scale / aspect / per_y) + 3
    dots = np.zeros((high * per_y, wide * per_x), bool)

    def dot(x: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray]:
        return room * per_x + (x - left) * scale, per_y + (top - y) * scale / aspect

    for points, style in drawing.lines:
        x, y = dot(points[:, 0], points[:, 1])
        for start in range(len(points) - 1):
            steps = int(max(abs(x[start + 1] - x[start]), abs(y[start + 1] - y[start]), 1)) + 1
            part = np.linspace(0.0, 1.0, steps + 1)
            column = np.rint(x[start] + part * (x[start + 1] - x[start])).astype(int)
            row = np.rint(y[start] + part * (y[start + 1] - y[start])).astype(int)
            if style == "hidden":
                column, row = column[(column + row) % 4 < 2], row[(column + row) % 4 < 2]
            inside = (row >= 0) & (row < dots.shape[0]) & (column >= 0) & (column < dots.shape[1])
            dots[row[inside], column[inside]] = True
    cells = [[_letter(dots, row, column, plain) for column in range(wide)] for row in range(high)]
    for text, x_word, y_word, anchor in words:
        x, y = dot(np.array([x_word]), np.array([y_word]))
        row = min(max(round(float(y[0]) / per_y), 0), high - 1)
        column = round(float(x[0]) / per_x - _SHARES[anchor] * len(text))
        column = min(max(column, 0), max(wide - len(text), 0))
        for index, letter in enumerate(text):
            if column + index < wide:
                cells[row][column + index] = letter
    return "\n".join("".join(row).rstrip() for row in cells).strip("\n")


def _letter(dots: FloatArray, row: int, column: int, plain: bool) -> str:
    """Write the dots of one place as a letter."""
    if plain:
        return "*" if dots[row, column] else " "
    code = sum(
        _BRAILLE[down][right]
        for down in range(4)
        for right in range(2)
        if dots[4 * row + down, 2 * column + right]
    )
    return chr(0x2800 + code) if code else " "
