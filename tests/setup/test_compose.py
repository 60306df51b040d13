"""The container set-up says what it should; there is no engine here to start it with."""

import re
import stat
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.setup.compose import PROJECT, compose


def service(name: str) -> dict[str, Any]:
    found: dict[str, Any] = compose()["services"][name]
    return found


def dockerfile() -> str:
    return (PROJECT / "Dockerfile").read_text()


def test_compose_has_the_five_services_and_no_other() -> None:
    assert set(compose()["services"]) == {"tls", "web", "migrate", "backup", "db"}


@pytest.mark.parametrize(
    ("name", "rights", "in_memory"),
    [
        ("web", [], ["/tmp"]),  # noqa: S108  inside the container, here and below
        ("migrate", [], ["/tmp"]),  # noqa: S108
        ("backup", [], ["/tmp"]),  # noqa: S108
        ("tls", ["NET_BIND_SERVICE"], ["/config", "/tmp"]),  # noqa: S108
        (
            "db",
            ["CHOWN", "DAC_OVERRIDE", "FOWNER", "SETGID", "SETUID"],
            ["/run/postgresql", "/tmp"],  # noqa: S108
        ),
    ],
)
def test_compose_gives_no_service_more_rights_than_it_needs(
    name: str, rights: list[str], in_memory: list[str]
) -> None:
    part = service(name)

    assert part["read_only"] is True
    assert part["cap_drop"] == ["ALL"]
    assert part.get("cap_add", []) == rights
    assert part["security_opt"] == ["no-new-privileges:true"]
    assert part["tmpfs"] == in_memory
    assert "privileged" not in part


def test_images_from_elsewhere_are_of_one_exact_version() -> None:
    bases = re.findall(r"^FROM (.+)$", dockerfile(), re.MULTILINE)
    images = [service("tls")["image"], service("db")["image"], *bases]

    assert [image for image in images if not re.search(r":\d+(\.\d+)+(-|$)", image)] == []


def test_book_listens_beyond_this_machine_only_where_compose_says_so() -> None:
    start = (PROJECT / "deploy/start").read_text()

    assert '--bind "${BIND:-127.0.0.1}:${PORT:-8000}"' in start
    assert service("web")["environment"]["BIND"] == "0.0.0.0"  # noqa: S104  inside the container


def test_compose_migrates_once_before_the_web_starts() -> None:
    assert service("migrate")["command"] == ["python", "manage.py", "migrate", "--noinput"]
    assert service("migrate")["restart"] == "no"
    assert service("web")["depends_on"] == {
        "migrate": {"condition": "service_completed_successfully"}
    }
    assert service("migrate")["depends_on"] == {"db": {"condition": "service_healthy"}}


def test_compose_opens_only_the_terminator_to_the_outside() -> None:
    opened = {name for name, part in compose()["services"].items() if "ports" in part}

    assert opened == {"tls"}
    assert service("tls")["ports"] == ["80:80", "443:443"]


def test_compose_keeps_database_and_uploads_in_named_volumes() -> None:
    assert set(compose()["volumes"]) == {"data", "backups", "database", "certificates"}
    assert service("db")["volumes"] == ["database:/var/lib/postgresql"]
    assert service("web")["volumes"] == ["data:/data", "backups:/backups"]


def test_compose_backs_the_book_up_every_night_from_the_volumes_of_the_web() -> None:
    backup = service("backup")

    assert backup["command"] == ["deploy/nightly"]
    assert backup["volumes"] == service("web")["volumes"]
    assert backup["restart"] == "unless-stopped"
    assert (PROJECT / "deploy/nightly").stat().st_mode & stat.S_IXUSR


@pytest.mark.parametrize("name", ["start", "nightly"])
def test_scripts_of_the_image_are_lawful_shell(name: str) -> None:
    assert subprocess.run(["sh", "-n", PROJECT / "deploy" / name], check=False).returncode == 0


def test_compose_takes_every_secret_from_a_file() -> None:
    text = (PROJECT / "docker-compose.yml").read_text()
    stated = re.findall(r"^\s+(\w*(?:PASSWORD|SECRET)\w*):", text, re.MULTILINE)

    assert stated
    assert [name for name in stated if not name.endswith("_FILE")] == []
    assert compose()["secrets"] == {
        "secret-key": {"file": "./deploy/secrets/secret-key"},
        "database-password": {"file": "./deploy/secrets/database-password"},
    }


def test_image_runs_the_start_script_as_nobody_in_particular() -> None:
    lines = dockerfile().splitlines()

    assert "--uid 10001" in dockerfile()
    assert lines.index("USER 10001") < lines.index('CMD ["deploy/start"]')
    assert "HEALTHCHECK" in dockerfile()
    assert (PROJECT / "deploy/start").stat().st_mode & stat.S_IXUSR


def linted(recipe: str) -> list[str]:
    """What the linter says of a container recipe, by the codes of its rules."""
    linter = Path(sys.executable).parent / "hadolint"
    if not linter.exists():
        pytest.skip("the linter comes for Linux on x86-64 alone")
    done = subprocess.run(
        [linter, "--no-color", "-"], input=recipe, capture_output=True, text=True, check=False
    )
    return re.findall(r"\b(?:DL|SC)\d{4}\b", done.stdout)


def test_container_recipe_is_linted() -> None:
    assert linted(dockerfile()) == []


@pytest.mark.parametrize(
    ("before", "after", "rule"),
    [
        ("python:3.12.12-slim-trixie", "python:latest", "DL3007"),
        ("USER 10001", "USER root", "DL3002"),
        ("--no-install-recommends", "", "DL3015"),
        ("WORKDIR /app", "WORKDIR app", "DL3000"),
        ("rm -rf /var/lib/apt/lists/*", "true", "DL3009"),
    ],
)
def test_linter_notices_a_worse_recipe(before: str, after: str, rule: str) -> None:
    assert before in dockerfile()
    assert rule in linted(dockerfile().replace(before, after))


def test_image_copies_only_what_exists_and_is_let_through() -> None:
    sources = [
        source
        for line in re.findall(r"^COPY (.+)$", dockerfile(), re.MULTILINE)
        for source in line.split()[:-1]
    ]
    let_through = {
        line[1:] for line in (PROJECT / ".dockerignore").read_text().splitlines() if line[:1] == "!"
    }

    assert [source for source in sources if not (PROJECT / source).exists()] == []
    assert set(sources) == let_through


def test_terminator_tells_the_book_whose_address_it_saw() -> None:
    lines = [line.strip() for line in (PROJECT / "deploy/Caddyfile").read_text().splitlines()]

    assert "header_up X-Real-IP {remote_host}" in lines
    assert "reverse_proxy web:8000 {" in lines
    assert "tls {$TAREBOOK_TLS}" in lines
    assert service("tls")["environment"]["TAREBOOK_TLS"] == "${TAREBOOK_TLS:-internal}"
    assert service("tls")["volumes"][0] == "./deploy/Caddyfile:/etc/caddy/Caddyfile:ro"


def test_terminator_file_lies_where_compose_looks() -> None:
    mounted = service("tls")["volumes"][0].split(":")[0]

    assert (PROJECT / Path(mounted)).is_file()
