"""`valvetrain schema`: the setup sheet's JSON Schema."""

import json

import click

__all__ = ["command"]


@click.command("schema")
def command() -> None:
    """Print the setup sheet's JSON Schema."""
    from valvetrain.setup.schema import json_schema

    click.echo(json.dumps(json_schema(), indent=2))
