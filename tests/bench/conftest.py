"""A bench that runs: the command in a process of its own, and bare requests to it."""

import http.client
import json
import subprocess
import sys
from urllib.parse import parse_qs, urlsplit

import pytest


class Running:
    """A bench in its own process."""

    def __init__(self, *arguments):
        self.process = subprocess.Popen(
            [sys.executable, "-m", "valvetrain_cli", "bench", *map(str, arguments), "--no-browser"],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        self.address = self.process.stdout.readline().strip()
        parts = urlsplit(self.address)
        self.host, self.port = parts.hostname, parts.port
        self.token = parse_qs(parts.query).get("token", [""])[0]
        self.origin = f"http://{self.host}:{self.port}"

    def request(self, method, path, body=None, *, cookie=True, **headers):
        """Send one request; header names with _ for -; None leaves a header out."""
        sent = {"Host": f"{self.host}:{self.port}"}
        if cookie:
            sent["Cookie"] = f"bench_{self.port}={self.token}"
        if method == "POST":
            sent |= {"Origin": self.origin, "Content-Type": "application/json"}
        sent |= {name.replace("_", "-"): value for name, value in headers.items()}
        connection = http.client.HTTPConnection(self.host, self.port, timeout=30)
        try:
            connection.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
            data = None if body is None else body if isinstance(body, bytes) else json.dumps(body).encode()
            if data is not None and "Content-Length" not in sent:
                sent["Content-Length"] = str(len(data))
            for name, value in sent.items():
                if value is not None:
                    connection.putheader(name, value)
            connection.endheaders()
            if data is not None:
                connection.send(data)
            answer = connection.getresponse()
            text = answer.read().decode()
            return answer.status, dict(answer.getheaders()), text
        finally:
            connection.close()

    def ask(self, path, body=None):
        """Ask the single sheet; return the JSON."""
        status, _, text = self.request("GET" if body is None else "POST", f"/sheet/engine/{path}", body)
        assert status == 200, text
        return json.loads(text)

    def stop(self):
        """End it."""
        if self.process.poll() is None:
            self.process.terminate()
        self.process.wait(10)
        out, err = self.process.stdout.read(), self.process.stderr.read()
        self.process.stdout.close()
        self.process.stderr.close()
        return out, err


@pytest.fixture
def bench():
    """Start benches; all end with the test, having said nothing but their address."""
    running = []

    def start(*arguments):
        running.append(Running(*arguments))
        return running[-1]

    yield start
    for each in running:
        out, err = each.stop()
        assert out == ""
        assert "Traceback" not in err
