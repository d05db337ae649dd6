"""Tablets and phones are allowed from a page while the program runs."""

import http.client
import json
from pathlib import Path
from urllib.parse import urlencode

import pytest
from process_help import Served
from warm_program import warm

from server.access.addresses import private_addresses

ADDRESSES = private_addresses()
pytestmark = pytest.mark.skipif(not ADDRESSES, reason="this computer is on no private network")


def status(server: Served, host: str, method: str, path: str, **form: str) -> tuple[int, str]:
    """Status and text of one request at one of the program's addresses."""
    connection = http.client.HTTPConnection(host, server.port, timeout=20)
    sent = {"origin": f"http://{host}:{server.port}"}
    if form:
        sent["content-type"] = "application/x-www-form-urlencoded"
    connection.request(method, path, urlencode(form), sent)
    reply = connection.getresponse()
    text = reply.read().decode()
    connection.close()
    return reply.status, text


def test_it_answers_the_network_when_allowed_and_still_after_a_start(tmp_path: Path) -> None:
    lan = ADDRESSES[0]
    with warm(tmp_path, "--empty") as server:
        with pytest.raises(ConnectionRefusedError):
            status(server, lan, "GET", "/api/health")
        assert "Allow tablets and phones" in status(server, server.host, "GET", "/connect")[1]
        assert status(server, server.host, "POST", "/connect/open")[0] == 303
        assert json.loads(status(server, lan, "GET", "/api/health")[1])["status"] == "ok"
        assert status(server, lan, "GET", "/api/pieces")[0] == 401
        page = status(server, server.host, "GET", "/connect")[1]
        assert "Shut again at" in page
        code = page.split('class="connect-code">')[1].split("<")[0]
        assert status(server, lan, "POST", "/pair", code=code, name="Tablet")[0] == 303
        server.end()
    with warm(tmp_path) as server:
        assert status(server, lan, "GET", "/api/health")[0] == 200
        assert status(server, server.host, "POST", "/connect/shut")[0] == 303
        with pytest.raises(ConnectionRefusedError):
            status(server, lan, "GET", "/api/health")
