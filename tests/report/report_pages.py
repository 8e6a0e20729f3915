"""Pages of the samples, and what a browser does with them."""

import os

import pytest

from valvetrain.setup.read import read_setup
from valvetrain_cli.report_page import report_page


def made(sheet, form="svg", system=None):
    """Make the page of a sheet; drawn in this process, as the test runner's threads are not to be copied."""
    setup = read_setup(sheet)
    return setup, report_page(setup, system or setup.units, form, lambda doing, share: None, workers=0)


def missing(what):
    """Skip where a tool is not there; on a build server its absence is a failure."""
    message = f"{what} is not installed here; .ci/run installs it"
    if os.environ.get("CI") == "true":
        pytest.fail(message)
    pytest.skip(message)


class Seen:
    """What a page did: lines on the console, errors, addresses asked for."""

    def __init__(self, page):
        self.console, self.errors, self.requests = [], [], []
        page.on("console", lambda message: self.console.append(message.text))
        page.on("pageerror", lambda error: self.errors.append(str(error)))
        page.on("request", lambda request: self.requests.append(request.url))

    def assert_quiet(self, path):
        assert self.console == []
        assert self.errors == []
        outside = [url for url in self.requests if not url.startswith("data:")]
        assert set(outside) <= {path.as_uri()}
