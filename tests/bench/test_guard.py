"""Who may speak to the bench, and what it never does whatever is asked."""

import json
import socket

import pytest

from valvetrain.bench.server import Refused, shop_at


@pytest.fixture(scope="module")
def module_sample(tmp_path_factory):
    import shutil

    from tests.engine_folders import engine_folder

    return shutil.copytree(engine_folder("plain_six"), tmp_path_factory.mktemp("guard") / "six")


@pytest.fixture(scope="module")
def running(module_sample):
    from tests.bench.conftest import Running

    one = Running(module_sample)
    yield one
    out, err = one.stop()
    assert out == ""
    assert "Traceback" not in err


STATE, VALUE = "/sheet/engine/state", "/sheet/engine/value"
ENTRY = {"key": "3E.offset", "readings": ["0.004"], "seen": "-0.007"}


def table(module_sample):
    return (module_sample / "valves.csv").read_bytes()


def test_the_token_comes_with_the_first_address_and_stays_in_a_cookie(running):
    status, headers, _ = running.request("GET", f"/?token={running.token}", cookie=False)
    assert status == 303
    assert headers["location"] == "/"
    cookie = headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=strict" in cookie
    assert running.request("GET", STATE)[0] == 200


@pytest.mark.parametrize("path", ["/", STATE, "/static/bench.js", "/guide/lash", "/sheet/engine/valve/3E"])
def test_without_the_token_nothing_is_told(running, path):
    for more in ({}, {"Cookie": f"bench_{running.port}=guess"}):
        status, _, text = running.request("GET", path, cookie=False, **more)
        assert status == 403
        assert "Plain six" not in text
    assert running.request("GET", f"{path}?token=guess", cookie=False)[0] == 403


@pytest.mark.parametrize("host", ["evil.example", "evil.example:80", "127.0.0.1", "127.0.0.1:1", "", "[::1]"])
def test_another_hosts_name_is_refused(running, host):
    assert running.request("GET", STATE, Host=host)[0] == 421


@pytest.mark.parametrize(
    "more",
    [
        {"Origin": "https://evil.example"},
        {"Origin": "null"},
        {"Origin": None},
        {"Sec_Fetch_Site": "cross-site"},
        {"Sec_Fetch_Site": "same-site"},
        {"Sec_Fetch_Site": "none"},
        {"Content_Type": "text/plain"},
        {"Content_Type": "application/x-www-form-urlencoded"},
        {"Content_Type": None},
    ],
)
def test_a_page_of_another_site_cannot_write(running, module_sample, more):
    before = table(module_sample)
    assert running.request("POST", VALUE, ENTRY, **more)[0] in (403, 415)
    assert table(module_sample) == before


@pytest.mark.parametrize("mode", ["no-cors", "cors", "navigate"])
def test_a_page_of_another_site_cannot_read(running, mode):
    more = {"Sec_Fetch_Site": "cross-site", "Sec_Fetch_Mode": mode, "Sec_Fetch_Dest": "iframe"}
    status, headers, text = running.request("GET", STATE, **more)
    assert status == 403
    assert "Plain six" not in text
    assert "access-control-allow-origin" not in {name.lower() for name in headers}


def test_every_answer_has_the_headers(running):
    for path in ("/", STATE, "/static/bench.js", "/sheet/engine/", "/nothing", "/sheet/engine/card"):
        _, headers, _ = running.request("GET", path)
        found = {name.lower(): value for name, value in headers.items()}
        assert "default-src 'none'" in found["content-security-policy"]
        assert "unsafe" not in found["content-security-policy"]
        assert found["x-content-type-options"] == "nosniff"
        assert found["x-frame-options"] == "DENY"
        assert found["cache-control"] == "no-store"
        assert "server" not in found


@pytest.mark.parametrize(
    "path",
    [
        "/static/../app.py",
        "/static/..%2fapp.py",
        "/static/%2e%2e%2fapp.py",
        "/static/setup.toml",
        "/sheet/..%2f..%2fetc/state",
        "/sheet/%2e%2e/state",
        "/sheet//state",
        "/sheet/other/state",
        "/guide/..%2f..%2fsetup",
        "/drawing/nothing",
        "/sheet/engine/valve/9E",
        "/sheet/engine/valve/..%2f..%2fsetup.toml",
        "/sheet/engine/plot/nothing",
        "/sheet/engine/setup.toml",
        "/sheet/engine/valves.csv",
    ],
)
def test_no_path_is_opened(running, path):
    assert running.request("GET", path)[0] == 404


def test_sizes_are_bounded(running, module_sample):
    before = table(module_sample)
    assert running.request("POST", VALUE, b"x" * 70_000)[0] == 413
    for length in ("-1", "1e9", "99999999999"):
        assert running.request("POST", VALUE, b"{}", Content_Length=length)[0] in (400, 413)
    # more than was said, in pieces
    body = b'{"key": "3E.offset", "readings": ["' + b"9" * 200_000 + b'"]}'
    with socket.create_connection((running.host, running.port), timeout=20) as raw:
        head = (
            f"POST {VALUE} HTTP/1.1\r\nHost: {running.host}:{running.port}\r\nOrigin: {running.origin}\r\n"
            f"Cookie: bench_{running.port}={running.token}\r\nContent-Type: application/json\r\n"
            "Transfer-Encoding: chunked\r\n\r\n"
        )
        raw.sendall(head.encode())
        try:
            for start in range(0, len(body), 4000):
                piece = body[start : start + 4000]
                raw.sendall(f"{len(piece):x}\r\n".encode() + piece + b"\r\n")
            raw.sendall(b"0\r\n\r\n")
            raw.recv(1000)
        except OSError:
            pass  # it was hung up on
    assert table(module_sample) == before
    assert running.request("GET", STATE)[0] == 200
    long = {"key": "3E.remarks", "readings": ["9" * 5000], "seen": None}
    assert running.request("POST", VALUE, long)[0] == 200
    assert b"9" * 300 not in table(module_sample)


NONSENSE = [
    b"",
    b"[]",
    b"{",
    b"null",
    b"[" * 60_000,
    b'{"key": 3}',
    b'{"key": ["a"], "readings": [[]]}',
    b'{"key": "3E.lash", "readings": {}}',
    b'{"key": "3E.lash", "readings": []}',
    b'{"key": "3E.lash", "readings": [null], "seen": {}}',
]


@pytest.mark.parametrize("body", NONSENSE)
def test_nonsense_is_refused_in_words(running, module_sample, body):
    before = table(module_sample)
    status, _, text = running.request("POST", VALUE, body)
    assert status == 200
    assert "faults" in text or "conflict" in text
    assert table(module_sample) == before
    for where, more in (("try", b'{"values": [1]}'), ("keep", b'{"values": {"a": {}}}')):
        assert running.request("POST", f"/sheet/engine/{where}", more)[0] == 200
    assert "faults" in running.request("POST", "/sheet/engine/undo", b'{"steps": "many"}')[2]
    assert table(module_sample) == before


def test_hostile_texts_of_a_sheet_stay_texts(bench, sample, edited):
    folder = sample()
    nasty = (
        '<script>alert(1)</script> "quoted" \u05e9\u05dc\u05d5\u05dd </textarea><img src=x onerror=alert(2)>'
    )
    sheet = folder / "setup.toml"
    sheet.write_text(
        sheet.read_text().replace('"Plain six (invented engine)"', json.dumps(nasty, ensure_ascii=False)),
        encoding="utf-8",
    )
    running = bench(folder)
    told = running.ask("state")
    assert "<script>" in told["title"]
    for path in ("", "valve/3E", "card"):
        status, _, text = running.request("GET", f"/sheet/engine/{path}")
        assert status == 200
        assert "<script>alert" not in text
        assert "<img src=x" not in text


def test_it_is_reached_on_this_machine_only(running):
    # every address of this machine but the loopback's refuses
    for found in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET):
        address = found[4][0]
        if not address.startswith("127."):
            with pytest.raises(OSError, match=r"refused|unreachable|timed out"):
                socket.create_connection((address, running.port), timeout=2)


def test_lan_warns_and_lets_in_with_the_token_only(bench, sample):
    running = bench(sample(), "--lan")
    assert running.request("GET", STATE, cookie=False)[0] == 403
    assert running.request("GET", STATE)[0] == 200
    running.process.terminate()
    assert "Caution: --lan" in running.process.stderr.readline()


def test_a_port_that_is_taken(bench, sample):
    first = bench(sample())
    second = bench(first_folder := sample("pump_twin"), "--port", str(first.port))
    assert second.address == ""
    assert second.process.wait(10) == 2
    assert first_folder.exists()


def test_what_a_path_means(tmp_path, sample):
    assert shop_at(sample(), new=False).single
    assert not shop_at(tmp_path, new=False).single
    with pytest.raises(Refused, match="does not exist"):
        shop_at(tmp_path / "no" / "where", new=True)
    with pytest.raises(Refused, match="is a sheet already"):
        shop_at(sample("pump_twin"), new=True)
    assert shop_at(tmp_path / "shop", new=True).root.is_dir()
