"""Names of files and folders as arguments: what no system takes as a name is refused at once."""

import os
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from valvetrain.setup.faults import UNSEEN, readable

if TYPE_CHECKING:
    from click import Context, Parameter

__all__ = ["FilePath"]

_UNSEEN = re.compile(f"[{UNSEEN}]")

# What the usual systems allow, in bytes: of one name, and of a whole path.
_NAME, _PATH = 255, 4000


class FilePath(click.Path):
    """A path that can be one."""

    def __init__(self, *, dir_okay: bool = True) -> None:
        """Allow a folder, too, unless told otherwise."""
        super().__init__(path_type=Path, dir_okay=dir_okay)

    def convert(
        self, value: "str | os.PathLike[str]", param: "Parameter | None", ctx: "Context | None"
    ) -> Any:
        """Return the path; a usage error where it is none."""
        text = os.fspath(value)
        if _UNSEEN.search(text):
            self.fail(f"'{readable(text, 200)}' holds a sign that no file's name has.", param, ctx)
        encoded = os.fsencode(text)
        if len(encoded) > _PATH or any(len(name) > _NAME for name in encoded.split(os.sep.encode())):
            self.fail(f"'{readable(text, 100)}' is too long for the name of a file.", param, ctx)
        return super().convert(value, param, ctx)
