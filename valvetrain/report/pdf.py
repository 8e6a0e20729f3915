"""The page as a PDF: the bench card on its own first pages, the proof as an appendix after it."""

import io
from collections.abc import Sequence
from typing import Any

from valvetrain.report.html import WORDS
from valvetrain.report.model import Page, Section, Stage, Table
from valvetrain.report.pdf_parts import BOX, Parts, Plot

__all__ = ["pdf_page"]


def pdf_page(page: Page, paper: str) -> bytes:
    """Write the page for "letter" or "A4" paper; plots stay drawings of lines."""
    from reportlab.lib.pagesizes import A4, letter
    from reportlab.platypus import PageBreak, SimpleDocTemplate

    size = letter if paper == "letter" else A4
    out = io.BytesIO()
    document = SimpleDocTemplate(
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
    parts = Parts(document.width)
    plots: list[Plot] = []
    story = [*_card(page, parts), PageBreak(), *_glance(page, parts)]
    for section in page.sections:
        story += [PageBreak(), *_section(section, parts, plots, document.height)]
    foot = f"{page.title}  -  {page.sheet}  -  valvetrain {page.version}"

    def footed(canvas: Any, doc: Any) -> None:
        canvas.setFont(parts.regular, 7)
        canvas.drawString(36, 24, foot[:110])
        canvas.drawRightString(size[0] - 36, 24, f"page {doc.page}")

    document.build(story, onFirstPage=footed, onLaterPages=footed)
    return _laid_in(out.getvalue(), plots)


def _card(page: Page, parts: Parts) -> list[Any]:
    """Write the bench card."""
    story = [
        parts.title(f"Bench card: {page.title}"),
        parts.small("Engine no. ____________    Date ____________    Builder ____________________"),
    ]
    for number, stage in enumerate(page.stages, start=1):
        story += _stage(number, stage, parts)
    blank = {"done": BOX}
    filled = Table(
        page.card.set_up.caption,
        (*page.card.set_up.columns, *page.card.blanks),
        tuple((*row, *(blank.get(name, "") for name in page.card.blanks)) for row in page.card.set_up.rows),
        words=page.card.set_up.words,
    )
    story += parts.table(
        filled, ruled=True, least={name: 40.0 for name in page.card.blanks if name != "done"}
    )
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
    for each in section.explained:
        story += [parts.heading(each.name.capitalize()), parts.text(f"{each.doc}. {each.note}")]
        story += [parts.formula(f"{symbol} = {expression}") for symbol, expression in each.steps]
        story.append(parts.text(f"Source: {each.publication}."))
        story += [parts.small(f"{symbol}: {meaning} ({place})") for symbol, meaning, place in each.symbols]
        story += parts.table(each.table)
    story += [parts.strong(f"Caution: {caution}") for caution in section.cautions]
    return story


def _laid_in(written: bytes, plots: Sequence[Plot]) -> bytes:
    """Lay each plot's own PDF onto the place that was kept for it."""
    from pypdf import PdfReader, PdfWriter, Transformation

    writer = PdfWriter(clone_from=io.BytesIO(written))
    for plot in plots:
        drawing = PdfReader(io.BytesIO(plot.pdf)).pages[0]
        move = Transformation().scale(plot.scale).translate(plot.x, plot.y)
        writer.pages[plot.page - 1].merge_transformed_page(drawing, move)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()
