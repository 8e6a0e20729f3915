"""`valvetrain schema`: the setup sheet's JSON Schema."""

import json

import click

from valvetrain_cli.streams import print_utf8

__all__ = ["command"]


@click.command("schema")
def command() -> None:
    """Print the setup sheet's JSON Schema."""
    from valvetrain.setup.schema import json_schema

    print_utf8(json.dumps(json_schema(), indent=2))
