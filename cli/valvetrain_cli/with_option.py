"""`--with KEY=VALUE`: any question asked of a changed sheet, nothing written."""

from typing import Any

import click

__all__ = ["asked_with", "pairs", "with_option"]

_HELD = "valvetrain.with"


def _keep(context: click.Context, parameter: click.Parameter, values: tuple[str, ...]) -> None:
    context.meta[_HELD] = values


with_option = click.option(
    "--with",
    "values",
    metavar="KEY=VALUE",
    multiple=True,
    expose_value=False,
    callback=_keep,
    help="Ask as if KEY were VALUE, such as 7E.installed_height=1.647 or shaft.stand_shim=0.030; nothing is "
    "written. May be given several times; nothing behind the = is unknown.",
)


def asked_with() -> tuple[str, ...]:
    """Return what was given after `--with`, as typed."""
    context = click.get_current_context(silent=True)
    given: Any = () if context is None else context.meta.get(_HELD, ())
    return tuple(given)


def pairs(given: tuple[str, ...], option: str = "") -> list[tuple[str, str | None]]:
    """Part KEY=VALUE; what is no such pair ends the command."""
    from valvetrain_cli.running import bad_input

    faults, found = [], []
    for each in given:
        key, equals, value = each.partition("=")
        if not equals or not key.strip():
            said = f"{option} {each}".strip()
            faults.append(
                f"{said}: is not KEY=VALUE. Write it like 7E.installed_height=1.647, without spaces."
            )
        found.append((key.strip(), value.strip() or None))
    if faults:
        bad_input(faults)
    return found
