"""The page as a PDF: the bench card on its own first pages, what was found after it, the formulas last."""

import io
from collections.abc import Sequence
from typing import Any

from valvetrain.answers.table import Table
from valvetrain.report.html import WORDS
from valvetrain.report.model import Page, Section, Stage
from valvetrain.report.pdf_parts import Parts, Plot

__all__ = ["pdf_page"]

CARD_SCALES = (1.6, 1.5, 1.4, 1.3, 1.2, 1.1, 1.0)
"""Sizes of the bench card's letters, tried from the largest; 1 is that of the pages after it."""


def pdf_page(page: Page, paper: str) -> bytes:
    """Write the page for "letter" or "A4" paper; plots stay drawings of lines."""
    from reportlab.lib.pagesizes import A4, letter
    from reportlab.platypus import PageBreak

    size = letter if paper == "letter" else A4
    out = io.BytesIO()
    document = _document(out, size, page)
    parts = Parts(document.width)
    plots: list[Plot] = []
    story = [*_card(page, _card_parts(page, size, document.width)), PageBreak(), *_glance(page, parts)]
    for section in page.sections:
        story += _section(section, parts, plots, document.height)
    explained = [section for section in page.sections if section.explained]
    for section in explained:
        story += [PageBreak(), *_formulas(section, parts)]
    foot = f"{page.title}  -  {page.sheet}  -  valvetrain {page.version}"

    def footed(canvas: Any, doc: Any) -> None:
        canvas.setFont(parts.regular, 7)
        canvas.drawString(36, 24, foot[:110])
        canvas.drawRightString(size[0] - 36, 24, f"page {doc.page}")

    document.build(story, onFirstPage=footed, onLaterPages=footed)
    return _laid_in(out.getvalue(), plots)


def _document(out: io.BytesIO, size: tuple[float, float], page: Page) -> Any:
    from reportlab.platypus import SimpleDocTemplate

    return SimpleDocTemplate(
        out,
        pagesize=size,
        leftMargin=36,
        rightMargin=36,
        topMargin=34,
        bottomMargin=40,
        title=page.title,
        author="",
        creator=f"valvetrain {page.version}",
        invariant=1,
    )


def _card_parts(page: Page, size: tuple[float, float], width: float) -> Parts:
    """Return parts in the largest letters with which the card takes two pages, to be read from the wall."""
    for scale in CARD_SCALES:
        trial = _document(io.BytesIO(), size, page)
        parts = Parts(width, scale)
        tables = [each for each in (page.card.fit, page.card.set_up) if each is not None]
        if not all(parts.holds(each) for each in tables):
            continue
        trial.build(_card(page, parts))
        if trial.page <= 2:
            return parts
    return Parts(width)


def _card(page: Page, parts: Parts) -> list[Any]:
    """Write the bench card."""
    story = [
        parts.title(f"Bench card: {page.title}"),
        parts.small("Engine no. ____________    Date ____________    Builder ____________________"),
    ]
    for number, stage in enumerate(page.stages, start=1):
        story += _stage(number, stage, parts)
    if page.card.fit is not None:
        story += parts.table(page.card.fit, ruled=True)
    story += parts.table(page.card.set_up, ruled=True, wide=True)
    story.append(parts.small(" ".join(f"Caution: {caution}" for caution in page.cautions)))
    return story


def _stage(number: int, stage: Stage, parts: Parts) -> list[Any]:
    if not stage.steps:
        return [parts.step(f"{number}. {stage.title}: ", stage.none)]
    return [parts.heading(f"{number}. {stage.title}")] + [
        parts.tick(f"{step.where}: ", step.what) for step in stage.steps
    ]


def _glance(page: Page, parts: Parts) -> list[Any]:
    """Write the verdicts at a glance."""
    rows = tuple((name, *(WORDS[verdict] for verdict in own)) for name, _, own in page.glance.rows)
    table = Table("Verdict of every question at every valve", ("question", *page.glance.valves), rows)
    story = [
        parts.title(page.title),
        parts.strong(page.headline),
        parts.small(" - ".join(page.facts)),
        *parts.table(table),
    ]
    if page.not_asked:
        story.append(parts.small(f"The sheet says nothing of: {', '.join(page.not_asked)}."))
    return story


def _section(section: Section, parts: Parts, plots: list[Plot], height: float) -> list[Any]:
    """Write one question."""
    story = [
        parts.title(section.name.capitalize()),
        parts.text(section.question),
        parts.strong(section.summary),
    ]
    if section.verdicts:
        rows = tuple(
            (
                each.valve or "engine",
                each.quantity,
                each.value,
                each.allowed,
                WORDS[each.verdict],
                each.advice,
            )
            for each in section.verdicts
        )
        columns = ("valve", "what", "found", "allowed", "verdict", "what to do")
        story += parts.table(Table(f"Not ok: {section.name}", columns, rows, words=frozenset({0, 1, 4, 5})))
    if section.drawing is not None and section.drawing.pdf:
        plot = Plot(section.drawing.pdf, parts.width, 0.8 * height)
        plots.append(plot)
        story += [plot, parts.strong(section.drawing.caption)]
    for block in section.blocks:
        story += parts.table(block) if isinstance(block, Table) else [parts.text(block)]
    for table in (section.limits, section.budget):
        if table is not None:
            story += parts.table(table)
    if section.explained:
        story.append(parts.small("How each number came about: at the end, under Formulas."))
    story += [parts.strong(f"Caution: {caution}") for caution in section.cautions]
    return story


def _formulas(section: Section, parts: Parts) -> list[Any]:
    """Write how the numbers of one question came about."""
    story = [parts.title(f"Formulas: {section.name}")]
    for each in section.explained:
        story += [parts.heading(each.name.capitalize()), parts.text(f"{each.doc}. {each.note}")]
        story += [parts.formula(f"{symbol} = {expression}") for symbol, expression in each.steps]
        story.append(parts.text(f"Source: {each.publication}."))
        story += [parts.small(f"{symbol}: {meaning} ({place})") for symbol, meaning, place in each.symbols]
        story += parts.table(each.table)
    return story


def _laid_in(written: bytes, plots: Sequence[Plot]) -> bytes:
    """Lay each plot's own PDF onto the place that was kept for it, as a form that its page calls."""
    from pypdf import PdfReader, PdfWriter
    from pypdf.generic import ArrayObject, DecodedStreamObject, DictionaryObject, FloatObject, NameObject

    writer = PdfWriter(clone_from=io.BytesIO(written))
    for number, plot in enumerate(plots):
        drawing: Any = PdfReader(io.BytesIO(plot.pdf)).pages[0]
        form = DecodedStreamObject()
        form.set_data(drawing["/Contents"].get_object().get_data())
        form.update(
            {
                NameObject("/Type"): NameObject("/XObject"),
                NameObject("/Subtype"): NameObject("/Form"),
                NameObject("/BBox"): ArrayObject(FloatObject(each) for each in drawing.mediabox),
                NameObject("/Resources"): drawing["/Resources"].get_object().clone(writer),
            }
        )
        name = f"/Plot{number}"
        page: Any = writer.pages[plot.page - 1]
        resources = page["/Resources"].get_object()
        forms = resources.setdefault(NameObject("/XObject"), DictionaryObject()).get_object()
        forms[NameObject(name)] = writer._add_object(form.flate_encode())
        call = DecodedStreamObject()
        place = f"{plot.scale:.5f} 0 0 {plot.scale:.5f} {plot.x:.3f} {plot.y:.3f}"
        call.set_data(f"\nq {place} cm {name} Do Q\n".encode())
        before = page["/Contents"].get_object()
        parts = before if isinstance(before, ArrayObject) else [page.raw_get("/Contents")]
        page[NameObject("/Contents")] = ArrayObject([*parts, writer._add_object(call)])
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()
