"""What a PDF page is made of: paragraphs, boxes to tick, tables that fit, and places kept for plots."""

import io
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

from reportlab.lib import colors
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.platypus import Flowable, LongTable, Paragraph, TableStyle

from valvetrain.answers.table import Table
from valvetrain.report.model import BOX

__all__ = ["Parts", "Plot"]

_PAD = 3.0


class Plot(Flowable):  # type: ignore[misc]
    """A place kept for a plot, which is laid in when the pages are made.

    Attributes:
        pdf: the plot's own PDF; page, x, y, scale: where it belongs [points], known after the build.
    """

    def __init__(self, pdf: bytes, width: float, height: float) -> None:
        """Keep a place for `pdf`, at most `width` by `height` [points]."""
        from pypdf import PdfReader

        super().__init__()
        self.pdf = pdf
        box = PdfReader(io.BytesIO(pdf)).pages[0].mediabox
        self.scale = min(width / float(box.width), height / float(box.height))
        self.width, self.height = self.scale * float(box.width), self.scale * float(box.height)
        self.page, self.x, self.y = 0, 0.0, 0.0

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Return the room it takes."""
        return self.width, self.height

    def draw(self) -> None:
        """Note where it stands."""
        self.page = self.canv.getPageNumber()
        self.x, self.y = self.canv.absolutePosition(0, 0)


class Parts:
    """Maker of paragraphs and tables for a width [points]; every text is taken as text, never as markup."""

    def __init__(self, width: float, scale: float = 1.0) -> None:
        """Make parts for a width [points], their letters larger by `scale`."""
        self.width = width
        self.regular, self.bold = _fonts()

        def size(letters: float, leading: float) -> dict[str, Any]:
            return {"fontSize": letters * scale, "leading": leading * scale}

        common: dict[str, Any] = {"fontName": self.regular, **size(8, 10)}
        self._text = ParagraphStyle("text", **common, spaceAfter=3)
        self._cell = ParagraphStyle("cell", **common | size(6.8, 8.2))
        self._small = ParagraphStyle("small", **common | size(6.5, 8), spaceAfter=3)
        self._title = ParagraphStyle("title", fontName=self.bold, fontSize=14, leading=17, spaceAfter=4)
        self._heading = ParagraphStyle(
            "heading", fontName=self.bold, **size(8.5, 11), spaceBefore=3, keepWithNext=1
        )
        self._tick = ParagraphStyle(
            "tick",
            **common,
            leftIndent=16 * scale,
            bulletIndent=2,
            bulletFontName=self.regular,
            bulletFontSize=11 * scale,
            spaceAfter=1.5,
        )
        self._formula = ParagraphStyle("formula", **common, leftIndent=16)

    def title(self, words: str) -> Paragraph:
        """Return a title."""
        return Paragraph(escape(words), self._title)

    def heading(self, words: str) -> Paragraph:
        """Return a heading."""
        return Paragraph(escape(words), self._heading)

    def text(self, words: str) -> Paragraph:
        """Return a paragraph."""
        return Paragraph(escape(words), self._text)

    def strong(self, words: str) -> Paragraph:
        """Return a bold paragraph."""
        return Paragraph(f'<font name="{self.bold}">{escape(words)}</font>', self._text)

    def small(self, words: str) -> Paragraph:
        """Return a small paragraph."""
        return Paragraph(escape(words), self._small)

    def formula(self, words: str) -> Paragraph:
        """Return a formula."""
        return Paragraph(escape(words), self._formula)

    def step(self, name: str, words: str) -> Paragraph:
        """Return a bold name and what belongs to it."""
        return Paragraph(f'<font name="{self.bold}">{escape(name)}</font>{escape(words)}', self._text)

    def tick(self, name: str, words: str) -> Paragraph:
        """Return a line with a box to tick."""
        text = f'<font name="{self.bold}">{escape(name)}</font>{escape(words)}'
        return Paragraph(text, self._tick, bulletText=BOX)

    def holds(self, table: Table) -> bool:
        """Say whether a table fits without a word broken."""
        widths = self._words(table, [list(row) for row in table.rows])
        return sum(widths) <= self.width

    def table(self, table: Table, *, ruled: bool = False, wide: bool = False) -> list[Flowable]:
        """Return caption and table, its columns fitted to the width.

        Args:
            table: the table.
            ruled: a line round every cell.
            wide: over the whole width, what is left shared by the columns, for writing in.
        """
        body = [list(row) for row in table.rows]
        if table.known:
            body.append(list(table.known))
        widths = self._widths(table, body)
        if wide and sum(widths) < self.width:
            widths = [each + (self.width - sum(widths)) / len(widths) for each in widths]
        cells = [[self._written(name, self.bold) for name in table.columns]]
        for row in body:
            written = []
            for place, (cell, width) in enumerate(zip(row, widths, strict=True)):
                font = self.bold if place == 0 or cell.startswith("OUT") else self.regular
                # A paragraph takes its time: what stands on one line is drawn as it is.
                short = font == self.regular and self._wide(cell) <= width
                written.append(cell if short else self._written(cell, font))
            cells.append(written)
        style: list[tuple[Any, ...]] = [
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("FONT", (0, 0), (-1, -1), self.regular, self._cell.fontSize, self._cell.leading),
            ("LEFTPADDING", (0, 0), (-1, -1), _PAD),
            ("RIGHTPADDING", (0, 0), (-1, -1), _PAD),
            ("TOPPADDING", (0, 0), (-1, -1), 1.5),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 1.5),
            ("LINEBELOW", (0, 0), (-1, 0), 1.0, colors.black),
            ("LINEBELOW", (0, 1), (-1, -1), 0.25, colors.grey),
        ]
        if ruled:
            style.append(("GRID", (0, 0), (-1, -1), 0.5, colors.black))
        made = LongTable(cells, colWidths=widths, repeatRows=1, hAlign="LEFT", spaceAfter=6)
        made.setStyle(TableStyle(style))
        return [self.heading(table.caption), made] if table.caption else [made]

    def _written(self, words: str, font: str) -> Paragraph:
        return Paragraph(f'<font name="{font}">{escape(words)}</font>', self._cell)

    def _wide(self, text: str) -> float:
        return float(pdfmetrics.stringWidth(text, self.bold, self._cell.fontSize)) + 2 * _PAD + 1

    def _words(self, table: Table, body: list[list[str]]) -> list[float]:
        """Return each column's longest word."""
        return [
            max(
                self._wide(each)
                for text in (name, *(row[place] for row in body))
                for each in text.split() or [""]
            )
            for place, name in enumerate(table.columns)
        ]

    def _widths(self, table: Table, body: list[list[str]]) -> list[float]:
        """Fit the columns: as wide as their text if that fits, else not under their longest word."""
        word, whole = self._words(table, body), []
        for place, name in enumerate(table.columns):
            texts = [row[place] for row in body]
            whole.append(max(word[place], *(map(self._wide, texts)), min(self._wide(name), 60.0)))
        if sum(whole) <= self.width:
            return whole
        if sum(word) >= self.width:
            return [self.width * each / sum(word) for each in word]
        share = (self.width - sum(word)) / (sum(whole) - sum(word))
        return [low + share * (high - low) for low, high in zip(word, whole, strict=True)]


def _fonts() -> tuple[str, str]:
    """Register a font that holds most of the world's letters: the one that comes with the plots' library."""
    import matplotlib

    folder = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    for name, file in (("Sheet", "DejaVuSans.ttf"), ("SheetBold", "DejaVuSans-Bold.ttf")):
        if name not in pdfmetrics.getRegisteredFontNames():
            pdfmetrics.registerFont(TTFont(name, str(folder / file)))
    return "Sheet", "SheetBold"
