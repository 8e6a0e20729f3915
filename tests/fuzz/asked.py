"""Strategies for what is asked of a sheet: a command with options, right and wrong."""

import functools
from typing import Any

import click
from hypothesis import strategies as st

from tests.fuzz.values import hostile
from valvetrain_cli.main import COMMANDS, main

# Of the commands that read a sheet these are the quick ones; the others are asked less often.
QUICK = ("rocker", "center", "spring", "events", "lash", "clearance", "control", "interference", "heights")
QUICK += ("sensitivity", "pushrod", "oil")
SLOW = ("check", "next", "wear", "lobe", "explain", "fit", "log", "report", "schema", "guide", "new")
LATER = tuple(name for name in COMMANDS if name not in QUICK + SLOW and name != "bench")

TEXTS = {
    "--with": ("shaft.setback=1.2", "1I.lash=0.3", "rocker.pad_arm=0", "odd=1", "=", "lash.intake=0.02 in"),
    "--rpm": ("1500,3000", "900", "0", "nan", ",", "1e9"),
    "--valve": ("1I", "9X", ""),
    "--instruments": ("caliper,feeler", "none", "odd", "all"),
}


@st.composite
def arguments(
    draw: Any, out: tuple[str, ...] = ("new.png", "taken.png", "new.csv", "odd.bmp")
) -> tuple[str, ...]:
    """A command line, in which {sheet} stands for the sheet and {out} for a folder to write into."""
    pick = draw(st.integers(0, 19))
    name = draw(st.sampled_from(QUICK if pick < 15 else SLOW[:3] if pick < 18 else SLOW[3:7] + LATER))
    if draw(st.integers(0, 400)) == 0:
        name = draw(st.sampled_from(SLOW))
    line = [name, *(["{sheet}"] if name not in ("schema", "guide", "new") else [])]
    if name == "new":
        line += ["{out}/new", "--cylinders", "2", "--units", "inch"]
    if name == "report":
        line += ["-o", "{out}/page.html", "--quiet"]
    if name == "fit":
        line += ["--readings", "readings.csv"]
    if name == "log":
        line += ["--log", "{out}/record.csv", "--new", "--valve", "1I", "--hours", "5", "--lash-found", "0.4"]
    if name == "lobe":
        line += ["--role", draw(st.sampled_from(["intake", "exhaust"]))]
    if name == "explain":
        line += [
            draw(st.sampled_from(["rocker.sweep_width", "spring.open_load", "control.rigid_limit", "odd"]))
        ]
    options = _options(name)
    for _ in range(draw(st.integers(0, 2))):
        if options:
            line += _option(draw, draw(st.sampled_from(options)), out)
    if name not in ("schema", "guide", "new", "report", "log", "explain", "set") and draw(st.integers(0, 3)):
        line.append("--json")
    return tuple(line)


@functools.cache
def _options(name: str) -> tuple[click.Option, ...]:
    command = main.get_command(click.Context(main), name)
    assert command is not None
    return tuple(
        each
        for each in command.params
        if isinstance(each, click.Option) and each.opts[-1] not in ("--help", "--samples")
    )


def _option(draw: Any, option: click.Option, out: tuple[str, ...]) -> list[str]:
    name = option.opts[-1]
    if option.is_flag:
        return [name]
    if isinstance(option.type, click.Choice):
        return [name, draw(st.sampled_from([*map(str, option.type.choices), "odd"]))]
    if isinstance(option.type, click.types.IntParamType):
        return [name, draw(st.sampled_from(["0", "1", "2", "-1", "9" * 30, "x"]))]
    if isinstance(option.type, click.Path):
        return [name, "{out}/" + draw(st.sampled_from(out))]
    written = draw(
        st.one_of(st.sampled_from(TEXTS.get(name, ("0.5", "0.020 in", "1", "-1", "1e9"))), hostile)
    )
    return [name, written.replace("{", "(").replace("}", ")").replace("\ud83d", "").replace("\x00", "?")]
