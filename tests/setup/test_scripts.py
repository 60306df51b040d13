"""The set-up scripts: what they say when a machine lacks something, and when it does not."""

import os
import shutil
import socket
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings

PROJECT = Path(settings.BASE_DIR)
NEEDED = ("sh", "cat", "cksum", "dirname", "grep", "id", "rm", "uname")


@pytest.fixture
def machine(tmp_path: Path) -> Path:
    """A clone on a bare machine: no apt, no sudo, and only the tools that are put in `bin`."""
    (tmp_path / "bin").mkdir()
    for name in NEEDED:
        found = shutil.which(name)
        assert found
        # Not a link: a test that puts another tool in its place would write through it.
        tool(tmp_path, name, f'exec {found} "$@"')
    shutil.copytree(PROJECT / "scripts", tmp_path / "clone" / "scripts")
    for path in PROJECT.glob("requirements*.txt"):
        shutil.copy(path, tmp_path / "clone")
    return tmp_path


def tool(machine: Path, name: str, script: str) -> None:
    path = machine / "bin" / name
    path.write_text(f"#!/bin/sh\n{script}\n")
    path.chmod(0o755)


def setup(machine: Path, mode: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        ["/bin/sh", "scripts/setup.sh", mode],
        cwd=machine / "clone",
        env={"PATH": str(machine / "bin")},
        check=False,
        capture_output=True,
        text=True,
    )


def test_setup_without_python_says_what_to_install(machine: Path) -> None:
    tool(machine, "python3", "exit 1  # too old")

    done = setup(machine, "run")

    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr == "Tarebook needs Python 3.11 or newer: install the package python3.\n"


def test_setup_without_venv_and_without_rights_says_what_to_install(machine: Path) -> None:
    tool(
        machine,
        "python3",
        'case "$2" in *ensurepip*) exit 1;; *print*) echo python3.11-venv;; esac',
    )

    done = setup(machine, "run")

    assert done.returncode == 1
    assert done.stderr == "Please install the package python3.11-venv, then say make again.\n"


def test_setup_without_pango_and_without_rights_says_what_to_install(machine: Path) -> None:
    venv = machine / "clone" / ".venv"
    (venv / "bin").mkdir(parents=True)
    (venv / "bin" / "python").write_text(
        '#!/bin/sh\ncase "$*" in *weasyprint*) exit 1;; esac\nexit 0\n'
    )
    (venv / "bin" / "python").chmod(0o755)

    done = setup(machine, "run")

    assert done.returncode == 1
    assert done.stderr.splitlines()[-1] == (
        "Labels need the Pango library: install libpango-1.0-0, libpangoft2-1.0-0, "
        "libharfbuzz-subset0 and fonts-dejavu-core (on macOS: brew install pango), "
        "then say make again."
    )


def test_setup_without_a_browser_says_so_and_goes_on(machine: Path) -> None:
    tool(machine, "uname", "echo Linux")

    done = setup(machine, "browser")

    assert done.returncode == 0
    assert done.stderr == "No browser for the browser tests: install the package chromium.\n"


def test_setup_without_packages_says_that_several_devices_are_not_tried(machine: Path) -> None:
    done = setup(machine, "devices")

    assert done.returncode == 0
    assert done.stderr.splitlines() == [
        f"No test of several devices: install the package {name}."
        for name in ("caddy", "libnss3-tools")
    ]


def test_terminator_is_unpacked_beside_the_clone_and_not_installed(machine: Path) -> None:
    """An installed one would begin to serve on this machine."""
    tool(machine, "apt-get", 'shift; : >"$1"_1.0_all.deb')
    tool(machine, "dpkg-deb", '/bin/mkdir -p "$3/usr/bin"')
    for name in ("mktemp", "mkdir"):
        tool(machine, name, f'exec {shutil.which(name)} "$@"')

    done = setup(machine, "devices")

    assert done.stderr.splitlines() == [
        f"Unpacking from the system's packages: {name}" for name in ("caddy", "libnss3-tools")
    ]
    assert (machine / "clone" / ".venv" / "devices" / "usr" / "bin").is_dir()


def test_second_setup_calls_no_installer(machine: Path) -> None:
    venv = machine / "clone" / ".venv"
    (venv / "bin").mkdir(parents=True)
    calls = machine / "calls"
    (machine / "clone" / "static" / "type").mkdir(parents=True)
    maker = Path("workshop/core/paper/typefaces.py")
    (machine / "clone" / maker.parent).mkdir(parents=True)
    shutil.copy(PROJECT / maker, machine / "clone" / maker)
    fonts = ": >static/type/serif-600.woff2"
    (venv / "bin" / "python").write_text(
        f'#!/bin/sh\necho "$@" >>{calls}\ncase "$*" in *typefaces*) {fonts};; esac\n'
    )
    (venv / "bin" / "python").chmod(0o755)
    first = setup(machine, "run")
    called = calls.read_text()
    calls.unlink()

    second = setup(machine, "run")

    assert "--require-hashes -r requirements.txt" in called
    assert (first.returncode, second.returncode, second.stderr) == (0, 0, "")
    assert not calls.exists()


def test_setup_installs_again_when_the_requirements_change(machine: Path) -> None:
    venv = machine / "clone" / ".venv"
    (venv / "bin").mkdir(parents=True)
    (venv / "bin" / "python").write_text("#!/bin/sh\n")
    (venv / "bin" / "python").chmod(0o755)
    setup(machine, "dev")
    with (machine / "clone" / "requirements-dev.txt").open("a") as pinned:
        pinned.write("one-more==1\n")

    assert setup(machine, "run").stderr == ""
    assert setup(machine, "dev").stderr == (
        "Installing the pinned packages into .venv (about half a minute)\n"
    )


def test_run_refuses_a_taken_port_with_a_sentence() -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])

        done = subprocess.run(
            [sys.executable, "scripts/serve.py"],
            cwd=PROJECT,
            env={**os.environ, "PORT": port},
            check=False,
            capture_output=True,
            text=True,
        )

    assert done.returncode == 1
    assert done.stderr == f"Port {port} cannot be used. Choose another: PORT=8001 make run\n"


def test_secrets_are_made_once_and_shut_to_others(tmp_path: Path) -> None:
    shutil.copytree(PROJECT / "scripts", tmp_path / "scripts")
    (tmp_path / "deploy").mkdir()
    make = [sys.executable, "scripts/make_secrets.py"]
    subprocess.run(make, cwd=tmp_path, check=True, stdout=subprocess.DEVNULL)
    folder = tmp_path / "deploy" / "secrets"
    first = {path.name: path.read_text() for path in folder.iterdir()}

    subprocess.run(make, cwd=tmp_path, check=True, stdout=subprocess.DEVNULL)

    assert set(first) == {"secret-key", "database-password"}
    assert all(len(value) > 50 for value in first.values())
    assert {path.name: path.read_text() for path in folder.iterdir()} == first
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
