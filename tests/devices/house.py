"""A workshop as compose sets it up, on this machine: terminator, web processes, PostgreSQL."""

import os
import signal
import socket
import ssl
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TypeVar

from tests.devices.tools import tool
from tests.kept_database import address
from tests.setup.compose import HOST, PROJECT, compose, environment

PATIENCE_S = 60
WORKERS = 2
# Ports that anybody may open, and this machine's own list of authorities left as it is.
ON_THIS_MACHINE = """{{
\thttp_port {http}
\thttps_port {https}
\tadmin off
\tskip_install_trust
}}
"""
Found = TypeVar("Found")


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def waited_for(what: Callable[[], Found | None], sentence: str) -> Found:
    until = time.monotonic() + PATIENCE_S
    while not (found := what()):
        assert time.monotonic() < until, sentence
        time.sleep(0.1)
    return found


class House:
    """What runs; `url` is where a device finds the book."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.http, self.https, self.port = free_port(), free_port(), free_port()
        self.url = f"https://{HOST}:{self.https}"
        self.root = folder / "caddy" / "pki" / "authorities" / "local" / "root.crt"
        self.web: subprocess.Popen[bytes] | None = None
        (folder / "secrets").mkdir()
        self.settings = environment("web", folder / "secrets", database_url=address())
        self.settings |= {
            "PORT": str(self.port),
            "BIND": "127.0.0.1",
            "WEB_WORKERS": str(WORKERS),
            "PYTHON": sys.executable,
            "TAREBOOK_STATIC_ROOT": str(folder / "static"),
            # As in a container, where the terminator has another address than the book.
            "FORWARDED_ALLOW_IPS": "192.0.2.1",
        }

    # ---- Terminator ------------------------------------------------------------------------------

    @contextmanager
    def terminator(self) -> Iterator[None]:
        """The one that compose names, by its own file, but for the ports."""
        stated = compose()["services"]["tls"]["environment"]
        config = self.folder / "Caddyfile"
        text = (PROJECT / "deploy" / "Caddyfile").read_text()
        assert "web:8000" in text
        config.write_text(
            ON_THIS_MACHINE.format(http=self.http, https=self.https)
            + text.replace("web:8000", f"127.0.0.1:{self.port}")
        )
        kept = {name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ}
        made_here = {"TAREBOOK_HOST": HOST, "TAREBOOK_TLS": "internal"}
        assert set(made_here) == set(stated)
        command = [str(tool("caddy")), "run", "--config", str(config), "--adapter", "caddyfile"]
        with (self.folder / "caddy.log").open("wb") as log:
            process = subprocess.Popen(
                command,
                env={**kept, **made_here, "XDG_DATA_HOME": str(self.folder)},
                stdout=log,
                stderr=log,
            )
        try:
            waited_for(self.is_trusted, "the terminator showed no certificate")
            yield
        finally:
            process.terminate()
            process.wait()

    def is_trusted(self) -> bool:
        """Whether its certificate is there and of the authority that it made."""
        if not self.root.exists():
            return False
        with suppress(OSError), self.shaken(socket.create_connection(("127.0.0.1", self.https))):
            return True
        return False

    def shaken(self, line: socket.socket) -> ssl.SSLSocket:
        """TLS over a connection, by who trusts the authority and nobody else."""
        trusting = ssl.create_default_context(cafile=str(self.root))
        return trusting.wrap_socket(line, server_hostname=HOST)

    # ---- Web processes ---------------------------------------------------------------------------

    def start(self, **version: str) -> None:
        """As the image is made and compose starts it: files collected, tables migrated, served."""
        self.settings |= version
        collect = ["manage.py", "collectstatic", "--noinput", "--verbosity=0"]
        migrate = compose()["services"]["migrate"]["command"][1:]
        for words in (collect, [*migrate, "--verbosity=0"]):
            subprocess.run([sys.executable, *words], cwd=PROJECT, env=self.settings, check=True)
        self.web = subprocess.Popen(["deploy/start"], cwd=PROJECT, env=self.settings)
        waited_for(self.is_healthy, "the book did not become healthy")

    def is_healthy(self) -> bool:
        check = [sys.executable, "deploy/healthy.py"]
        asked = subprocess.run(
            check, cwd=PROJECT, env=self.settings, check=False, stderr=subprocess.DEVNULL
        )
        return asked.returncode == 0

    def managed(self, *words: str) -> str:
        """What a command of the book says."""
        command = [sys.executable, "manage.py", *words]
        done = subprocess.run(
            command, cwd=PROJECT, env=self.settings, check=False, capture_output=True, text=True
        )
        return done.stdout + done.stderr

    def stop(self) -> None:
        if self.web is not None:
            self.web.terminate()
            self.web.wait()
            self.web = None

    def workers(self) -> set[int]:
        assert self.web is not None
        children = Path(f"/proc/{self.web.pid}/task/{self.web.pid}/children").read_text()
        return {int(one) for one in children.split()}

    def kill_the_busy_worker(self) -> int:
        """SIGKILL to the web process that a request has kept for a while."""
        busy = waited_for(self._busy_worker, "no web process was busy")
        os.kill(busy, signal.SIGKILL)
        return busy

    def _busy_worker(self) -> int | None:
        first = self._served()
        time.sleep(0.5)  # the state that a page asks for is answered sooner
        held = [worker for line, worker in self._served().items() if line in first]
        return held[0] if held else None

    def _served(self) -> dict[str, int]:
        """Who holds which connection from the terminator. It is the kernel that says so."""
        mine = f":{self.port:04X}"
        rows = [row.split() for row in Path("/proc/net/tcp").read_text().splitlines()[1:]]
        lines = {f"socket:[{row[9]}]" for row in rows if row[1].endswith(mine) and row[3] == "01"}
        return {line: worker for worker in self.workers() for line in lines & _open_files(worker)}


def _open_files(process: int) -> set[str]:
    found = set()
    with suppress(OSError):
        for entry in Path(f"/proc/{process}/fd").iterdir():
            with suppress(OSError):
                found.add(str(entry.readlink()))
    return found
