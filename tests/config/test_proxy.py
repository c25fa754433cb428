"""The example of a TLS proxy, as it stands in docs, run with Debian's nginx before the server as it is started."""

from __future__ import annotations

import http.client
import os
import shutil
import socket
import ssl
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.config.served import Served, a_house, free_port, wait_until
from tests.config.starting import ROOT, manage
from tests.conftest import skip_unless
from tests.database import Template

pytestmark = [
    pytest.mark.xdist_group("servers"),
    pytest.mark.slow,
    pytest.mark.timeout(240),
    pytest.mark.skipif(os.name != "posix", reason="nginx as Debian has it"),
]

NGINX = shutil.which("nginx") or shutil.which("nginx", path="/usr/sbin")
TOKEN = """
from campaigns.models import *
token = ApiToken(organisation=Organisation.objects.get(name="House"), name="program", scopes=list(TokenScope))
print(token.new_secret())
token.save()
"""
AROUND = """
daemon off; pid {folder}/nginx.pid; error_log {folder}/error.log; worker_processes 1;
events {{ worker_connections 256; }}
http {{
  access_log off;
  client_body_temp_path {folder}/body; proxy_temp_path {folder}/proxy; fastcgi_temp_path {folder}/f;
  uwsgi_temp_path {folder}/u; scgi_temp_path {folder}/s;
  include {folder}/site.conf;
}}
"""


def certificate(folder: Path) -> None:
    """Of our own, for one day."""
    command = (
        "openssl req -x509 -newkey rsa:2048 -nodes -days 1 -subj /CN=air.example -addext subjectAltName=DNS:air.example"
    )
    files = ["-keyout", str(folder / "key.pem"), "-out", str(folder / "fullchain.pem")]
    subprocess.run([*command.split(), *files], check=True, capture_output=True)


def started(folder: Path, plain: int, tls: int, behind: int) -> subprocess.Popen[bytes]:
    """The example with our ports and certificate, and nothing else changed."""
    assert NGINX is not None
    site = (ROOT / "docs" / "operating" / "nginx.conf").read_text()
    changes = {
        "listen 80;": f"listen 127.0.0.1:{plain};",
        "listen 443 ssl;": f"listen 127.0.0.1:{tls} ssl;",
        "127.0.0.1:8000": f"127.0.0.1:{behind}",
        "/etc/ssl/fanlight": str(folder),
    }
    for said, ours in changes.items():
        assert said in site
        site = site.replace(said, ours)
    (folder / "site.conf").write_text(site)
    (folder / "nginx.conf").write_text(AROUND.format(folder=folder))
    return subprocess.Popen([NGINX, "-p", str(folder), "-c", str(folder / "nginx.conf")])


class Outside:
    """A browser or program that trusts our certificate and comes by the public name."""

    def __init__(self, folder: Path, port: int) -> None:
        self.port, self.trust = port, ssl.create_default_context(cafile=str(folder / "fullchain.pem"))

    def ask(self, path: str, **headers: str) -> http.client.HTTPResponse:
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        bare = socket.create_connection(("127.0.0.1", self.port), timeout=20)
        line.sock = self.trust.wrap_socket(bare, server_hostname="air.example")
        line.request("GET", path, headers={"Host": "air.example", **headers})
        return line.getresponse()

    def answers(self) -> bool:
        try:
            return self.ask("/health/").status == 200
        except OSError:
            return False


@pytest.fixture
def behind(tmp_path: Path, django_db_setup: Template) -> Iterator[tuple[Outside, Served, str, int]]:
    skip_unless(NGINX is not None, "nginx", "no nginx is installed")
    a_house(tmp_path, django_db_setup)
    secret = manage(tmp_path, "shell", "--verbosity", "0", "-c", TOKEN).stdout.split()[-1]
    certificate(tmp_path)
    served = Served(tmp_path, FANLIGHT_HTTPS="yes", FANLIGHT_HOSTS="air.example")
    plain, tls = free_port(), free_port()
    proxy = started(tmp_path, plain, tls, served.port)
    outside = Outside(tmp_path, tls)
    try:
        wait_until(outside.answers, 20)
        yield outside, served, secret, plain
    finally:
        proxy.terminate()
        proxy.wait(20)
        served.end()


def test_what_comes_through_the_proxy_is_known_to_be_safe(behind: tuple[Outside, Served, str, int]) -> None:
    outside, served, secret, plain = behind
    login = outside.ask("/login/")
    assert login.status == 200
    assert login.headers["Strict-Transport-Security"].startswith("max-age=31536000")
    assert "Secure" in login.headers["Set-Cookie"]
    lists = outside.ask("/api/v1/", Authorization=f"Bearer {secret}").read().decode()
    assert "https://air.example/api/v1/" in lists
    assert "http://" not in lists

    line = http.client.HTTPConnection("127.0.0.1", plain, timeout=20)
    line.request("GET", "/login/", headers={"Host": "air.example"})
    moved = line.getresponse()
    assert (moved.status, moved.headers["Location"]) == (301, "https://air.example/login/")

    direct = http.client.HTTPConnection("127.0.0.1", served.port, timeout=20)
    direct.request("GET", "/login/", headers={"Host": "air.example"})
    assert "Strict-Transport-Security" not in direct.getresponse().headers, "a proxy on this host that says nothing"
