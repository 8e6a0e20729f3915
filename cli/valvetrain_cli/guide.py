"""`valvetrain guide`: how to take each measurement."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from valvetrain_cli.options import force_option
from valvetrain_cli.paths import FilePath

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

    from valvetrain.report.guide.topic import Topic

__all__ = ["command"]


def _complete(context: click.Context, parameter: click.Parameter, incomplete: str) -> "list[CompletionItem]":
    from click.shell_completion import CompletionItem

    from valvetrain.report.guide.topics import TOPICS, words_known

    titles = {topic.name: topic.title for topic in TOPICS}
    return [
        CompletionItem(word, help=titles.get(word)) for word in words_known() if word.startswith(incomplete)
    ]


@click.command("guide")
@click.argument("words", metavar="[TOPIC]", nargs=-1, shell_complete=_complete)
@click.option(
    "-o",
    "--output",
    type=FilePath(),
    help="Write it as a page: FILE.html. All topics if none is named.",
)
@force_option
def command(words: tuple[str, ...], output: Path | None, force: bool) -> None:
    """How to take each measurement: steps, drawing, instrument and its usual uncertainty, slips, cautions.

    TOPIC is a topic, a key of the sheet such as pad_radius or shaft.height, a column, or a section such as
    spring. Left out, the topics are listed; `all` shows them all.
    """
    from valvetrain.report.guide.topics import TOPICS, found
    from valvetrain_cli.running import bad_input, check_target, write_whole

    check_target(output, force, (".html", ".htm"))
    # "[shaft] setback" as it stands in the sheet comes as two words.
    topic = " ".join(words) or None
    chosen: list[Topic] = []
    if topic is not None and topic != "all":
        try:
            chosen = found(topic)
        except KeyError as error:
            bad_input([str(error.args[0])])
    if output is not None:
        from valvetrain.report.guide.page import guide_page

        page = guide_page(chosen or TOPICS)
        write_whole(output, lambda path: path.write_bytes(page.encode("utf-8")), force)
        click.echo(f"Written: {output}", err=True)
        return
    if topic is None:
        _list()
        return
    for each in chosen or TOPICS:
        _print(each)


def _list() -> None:
    """List the topics."""
    from rich.text import Text

    from valvetrain.report.guide.topics import GROUPS
    from valvetrain_cli.tables import console, print_hanging

    out = console()
    for group, topics in GROUPS:
        out.print(Text(group, style="bold"))
        for topic in topics:
            print_hanging(out, f"  {topic.name:<18}", topic.title)
    print_hanging(
        out,
        "",
        "valvetrain guide TOPIC, or a key of the sheet: valvetrain guide pad_radius. As a page to print: "
        "valvetrain guide -o guide.html",
    )


def _print(topic: "Topic") -> None:
    """Print one topic."""
    from rich.text import Text

    from valvetrain.report.drawing import text_picture
    from valvetrain.report.guide.topics import entries
    from valvetrain_cli.tables import console, print_hanging

    out = console()
    out.print(Text(topic.title, style="bold"))
    if topic.drawing:
        from valvetrain.report.guide.page import DRAWINGS

        drawing = DRAWINGS[topic.drawing]()
        out.print()
        picture = text_picture(drawing, min(out.width, 100) - 4, plain=not _has_braille())
        out.print(Text(picture), no_wrap=True, crop=False)
        out.print(Text(f"{drawing.title} (from the model, an invented engine).", style="italic"))
        out.print()
    for number, step in enumerate(topic.how, 1):
        print_hanging(out, f"  {number}. ", step)
    if topic.instead:
        print_hanging(out, "  ", f"Without the instrument: {topic.instead}")
    if topic.slips:
        out.print(Text("Usual slips", style="bold"))
        for slip in topic.slips:
            print_hanging(out, "  - ", slip)
    for caution in topic.cautions:
        out.print(Text(f"Caution: {caution}", style="bold"))
    if topic.table:
        out.print(Text("In a table or the sheet, for example", style="bold"))
        for line in topic.table:
            out.print(Text(f"  {line}"))
    listed = entries(topic)
    if listed:
        out.print(Text("In the sheet", style="bold"))
        for entry in listed:
            with_ = "; ".join(part for part in (entry.instrument, entry.known_to) if part)
            print_hanging(out, f"  {entry.name}  ", entry.doc)
            if with_:
                print_hanging(out, "      ", with_)
    out.print()


def _has_braille() -> bool:
    """Say whether the output can hold Braille's dots."""
    try:
        "\u28ff".encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True
