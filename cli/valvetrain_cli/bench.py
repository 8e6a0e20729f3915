"""`valvetrain bench`: a live page to measure by."""

import importlib.util
import sys
from pathlib import Path

import click

__all__ = ["command"]


@click.command("bench")
@click.argument("sheet", metavar="SHEET", type=click.Path(path_type=Path))
@click.option(
    "--new", is_flag=True, help="SHEET is a folder, new or of a shop's sheets: begin an engine in it."
)
@click.option(
    "--port", type=click.IntRange(0, 65535), default=0, help="To listen at; any that is free if left out."
)
@click.option("--no-browser", is_flag=True, help="Open no browser; its address is the only line on stdout.")
@click.option("--lan", is_flag=True, help="Let other machines of the network in, too, with the token.")
def command(sheet: Path, new: bool, port: int, no_browser: bool, lan: bool) -> None:
    """Open a page in the browser to measure by: what to measure, how, and at once what it means.

    SHEET is a sheet, or a folder of a shop's sheets. Every value goes at once into the sheet's own files;
    what is edited elsewhere meanwhile is taken up. Ctrl-C ends it. It is reached from this machine only.
    """
    from valvetrain_cli.running import bad_input

    missing = [name for name in ("starlette", "uvicorn") if importlib.util.find_spec(name) is None]
    if missing:
        bad_input([f"bench: {' and '.join(missing)} is not installed. Run: pip install 'valvetrain[bench]'"])
    from valvetrain.bench.server import Refused, serve, shop_at

    try:
        shop = shop_at(sheet, new=new)
        serve(
            shop,
            port=port,
            lan=lan,
            browser=not no_browser,
            say=_say,
            warn=lambda words: click.echo(f"Caution: {words}", err=True),
        )
    except Refused as refused:
        bad_input([str(refused)])


def _say(address: str) -> None:
    click.echo(address)
    sys.stdout.flush()
