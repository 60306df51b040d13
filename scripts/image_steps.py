"""Takes the steps of the Dockerfile in an empty Debian root, without a container engine.

`make image-steps`, as root, with mmdebstrap and the network of a build. The root is of the release
that FROM names, from MIRROR where one is given, with Debian's own Python in the place of the
image's: in /usr/local as there, and with packages of its own. What comes out is started as compose
starts it: as the image's user, on a root that cannot be written, until it is healthy.
"""

# ruff: noqa: S603, S607 -- the machine's own tools, with words of this file and the Dockerfile

import json
import os
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from tempfile import mkdtemp
from typing import NamedTuple

PROJECT = Path(__file__).resolve().parent.parent
APART = "TAREBOOK_IMAGE_STEPS"  # set once this runs with mounts of its own
PACKAGES = "python3,python3-venv,ca-certificates"
# How this machine reaches packages.
REACH = ("/etc/resolv.conf", "/etc/pip.conf", "/etc/ssl/certs/ca-certificates.crt")
USUAL = {"PATH": "/usr/local/bin:/usr/bin:/bin:/usr/sbin:/sbin"}
WRITABLE = ("data", "backups")
PATIENCE_S = 120


class Step(NamedTuple):
    word: str
    rest: str


def steps(text: str) -> Iterator[Step]:
    """The instructions, each on one line, without comments."""
    kept = "\n".join(line for line in text.splitlines() if not line.lstrip().startswith("#"))
    for line in re.sub(r"\\\n", " ", kept).splitlines():
        if line.strip():
            word, _, rest = line.strip().partition(" ")
            yield Step(word, rest.strip())


class Image:
    """A root that fills as its steps are taken."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.folder = "/"
        self.user = "0"
        self.command: list[str] = []
        self.check: list[str] = []
        self.environment = {
            name: value for name, value in os.environ.items() if name.startswith("PIP_")
        } | USUAL

    def take(self, step: Step) -> None:
        print(f"---- {step.word} {step.rest[:80]}", flush=True)
        taken: dict[str, Callable[[str], object]] = {
            "FROM": self.begin,
            "RUN": self.run,
            "ENV": self.set,
            "WORKDIR": self.go,
            "COPY": self.copy,
            "USER": self.become,
            "CMD": lambda rest: self.command.extend(json.loads(rest)),
            "HEALTHCHECK": lambda rest: self.check.extend(json.loads(rest.partition("CMD ")[2])),
        }
        if step.word in taken:
            taken[step.word](step.rest)
        elif step.word not in ("VOLUME", "EXPOSE"):  # they promise, and do nothing
            sys.exit(f"{step.word} is no step that is known here.")

    def begin(self, base: str) -> None:
        release = base.rpartition("-")[2]
        made = ["mmdebstrap", "--quiet", "--variant=minbase", f"--include={PACKAGES}", release]
        mirror = os.environ.get("MIRROR", "").split()
        subprocess.run([*made, str(self.root), *mirror], check=True)
        for name in REACH:
            if Path(name).exists():
                shutil.copy(Path(name).resolve(), self.root / name[1:])
        self.lend_devices()
        # Into Debian's own packages pip puts nothing that replaces one of them.
        self.run("python3 -m venv /usr/local")

    def lend_devices(self) -> None:
        """What a container engine gives: processes to look at, and the few harmless devices."""
        subprocess.run(["mount", "-t", "proc", "proc", str(self.root / "proc")], check=True)
        subprocess.run(["mount", "-t", "tmpfs", "tmpfs", str(self.root / "dev")], check=True)
        (self.root / "dev/shm").mkdir(mode=0o1777)
        (self.root / "dev/shm").chmod(0o1777)
        for name in ("null", "zero", "random", "urandom"):
            (self.root / "dev" / name).touch()
            there = str(self.root / "dev" / name)
            subprocess.run(["mount", "--bind", f"/dev/{name}", there], check=True)

    def set(self, rest: str) -> None:
        self.environment |= dict(pair.split("=", 1) for pair in rest.split())

    def go(self, folder: str) -> None:
        self.folder = folder
        (self.root / folder[1:]).mkdir(parents=True, exist_ok=True)

    def copy(self, rest: str) -> None:
        *sources, target = rest.split()
        into = self.root / self.folder[1:] / target
        left_out = shutil.ignore_patterns("__pycache__", "type")  # by .dockerignore
        for source in sources:
            if (PROJECT / source).is_dir():
                shutil.copytree(PROJECT / source, into, ignore=left_out)
            else:
                into.mkdir(parents=True, exist_ok=True) if target.endswith("/") else None
                shutil.copy(PROJECT / source, into)

    def become(self, user: str) -> None:
        self.user = user

    def inside(self, command: list[str]) -> list[str]:
        words = [f"{name}={value}" for name, value in self.environment.items()]
        within = 'cd "$1" && shift && exec "$@"'
        user = [] if self.user == "0" else [f"--userspec={self.user}"]
        return [
            *("chroot", *user, str(self.root), "env", "-i", *words),
            *("sh", "-c", within, "-", self.folder, *command),
        ]

    def run(self, rest: str) -> None:
        subprocess.run(self.inside(["sh", "-c", rest]), check=True)

    def serve(self) -> None:
        """Tables, a backup, and the start command until the health check is content."""
        self.shut()
        self.environment |= {"PYTHONDONTWRITEBYTECODE": "1", "PORT": "8765"}
        for words in (["migrate", "--noinput", "--verbosity=0"], ["backup"]):
            subprocess.run(self.inside(["python", "manage.py", *words]), check=True)
        server = subprocess.Popen(self.inside(self.command))
        try:
            until = time.monotonic() + PATIENCE_S
            while subprocess.run(self.inside(self.check), check=False).returncode:
                if time.monotonic() > until or server.poll() is not None:
                    sys.exit("The book did not become healthy.")
                time.sleep(1)
        finally:
            server.terminate()
            server.wait()
        written = self.inside(["sh", "-c", ": >/app/probe || : >/etc/probe"])
        if subprocess.run(written, check=False, stderr=subprocess.DEVNULL).returncode == 0:
            sys.exit("The image can be written by its user.")

    def shut(self) -> None:
        """Compose's read-only root: volumes and memory alone can be written."""
        kept = self.root.parent / "volumes"
        for name in WRITABLE:
            shutil.copytree(self.root / name, kept / name)
            owner = (self.root / name).stat()
            os.chown(kept / name, owner.st_uid, owner.st_gid)
        subprocess.run(["mount", "--bind", str(self.root), str(self.root)], check=True)
        subprocess.run(["mount", "-o", "remount,bind,ro", str(self.root)], check=True)
        self.lend_devices()
        for name in WRITABLE:
            there = str(self.root / name)
            subprocess.run(["mount", "--bind", str(kept / name), there], check=True)
        subprocess.run(["mount", "-t", "tmpfs", "tmpfs", str(self.root / "tmp")], check=True)


def main() -> None:
    if os.geteuid() != 0 or shutil.which("mmdebstrap") is None:
        sys.exit("It takes root and the package mmdebstrap.")
    if APART not in os.environ:  # mounts of its own, which go with it
        ours = ["unshare", "--mount", "--propagation", "private", sys.executable, __file__]
        os.execvpe(ours[0], ours, {**os.environ, APART: "1"})  # noqa: S606  this very file
    folder = mkdtemp(prefix="tarebook-image-")
    image = Image(Path(folder) / "root")
    try:
        for step in steps((PROJECT / "Dockerfile").read_text()):
            image.take(step)
        image.serve()
    finally:
        for place in reversed(mounted_below(folder)):
            subprocess.run(["umount", place], check=False)
        if not mounted_below(folder):  # or what was lent to it would go too
            shutil.rmtree(folder)
    print("The image was made step by step, and served.")


def mounted_below(folder: str) -> list[str]:
    lines = Path("/proc/mounts").read_text().splitlines()
    return [line.split()[1] for line in lines if line.split()[1].startswith(folder)]


if __name__ == "__main__":
    main()
