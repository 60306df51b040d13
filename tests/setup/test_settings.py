"""Settings: safe when nothing is said, and read from the environment when something is."""

import os
import runpy
import stat
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.test import Client

SETTINGS = Path(settings.BASE_DIR) / "workshop" / "settings.py"


@pytest.fixture
def read(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Any:
    """Reads the settings file afresh, in an environment that says only what is given."""
    for name in list(os.environ):
        if name.startswith(("TAREBOOK_", "SECRET_KEY", "DATABASE_")):
            monkeypatch.delenv(name)
    monkeypatch.setenv("TAREBOOK_DATA", str(tmp_path / "data"))

    def fresh(**environment: str) -> dict[str, Any]:
        for name, value in environment.items():
            monkeypatch.setenv(name, value)
        return runpy.run_path(str(SETTINGS))

    return fresh


def test_settings_are_safe_when_nothing_is_said(read: Any, tmp_path: Path) -> None:
    values = read()

    assert values["DEBUG"] is False
    assert values["ALLOWED_HOSTS"] == ["localhost", "127.0.0.1", "[::1]"]
    assert values["TIME_ZONE"] == "UTC"
    assert values["DATABASES"]["default"]["NAME"] == str(tmp_path / "data" / "tarebook.sqlite3")
    assert "django.contrib.auth.middleware.LoginRequiredMiddleware" in values["MIDDLEWARE"]
    assert values["MIDDLEWARE"][-1] == "axes.middleware.AxesMiddleware"


def test_secret_key_is_made_once_and_kept_from_others(read: Any, tmp_path: Path) -> None:
    first = read()["SECRET_KEY"]
    second = read()["SECRET_KEY"]
    kept = tmp_path / "data" / "secret-key"

    assert first == second == kept.read_text()
    assert len(first) > 50
    assert stat.S_IMODE(kept.stat().st_mode) == 0o600


def test_secret_key_may_come_from_a_file_and_then_none_is_made(read: Any, tmp_path: Path) -> None:
    given = tmp_path / "given-key"
    given.write_text("a key from elsewhere\n")

    assert read(SECRET_KEY_FILE=str(given))["SECRET_KEY"] == "a key from elsewhere"
    assert not (tmp_path / "data").exists()


def test_database_may_be_postgresql_with_its_password_in_a_file(read: Any, tmp_path: Path) -> None:
    password = tmp_path / "password"
    password.write_text("p%40ss/word\n")

    chosen = read(
        DATABASE_URL="postgres://book@db:5432/tarebook", DATABASE_PASSWORD_FILE=str(password)
    )["DATABASES"]["default"]

    assert chosen["ENGINE"] == "django.db.backends.postgresql"
    assert (chosen["USER"], chosen["HOST"], chosen["NAME"]) == ("book", "db", "tarebook")
    assert chosen["PASSWORD"] == "p%40ss/word"


def test_server_keeps_plans_unless_connections_are_pooled(read: Any) -> None:
    address = "postgres://book@db:5432/tarebook?sslmode=require"

    alone = read(DATABASE_URL=address)["DATABASES"]["default"]["OPTIONS"]
    pooled = read(DATABASE_URL=address, TAREBOOK_POOLED="1")["DATABASES"]["default"]["OPTIONS"]

    assert alone == {"sslmode": "require", "server_side_binding": True, "prepare_threshold": 5}
    assert pooled == {"sslmode": "require"}


def test_headers_of_a_terminator_are_believed_only_when_there_is_one(read: Any) -> None:
    alone = read()
    behind = read(TAREBOOK_HTTPS="1")

    assert "SECURE_PROXY_SSL_HEADER" not in alone
    assert alone["AXES_IPWARE_META_PRECEDENCE_ORDER"] == ["REMOTE_ADDR"]
    assert behind["SECURE_PROXY_SSL_HEADER"] == ("HTTP_X_FORWARDED_PROTO", "https")
    assert behind["AXES_IPWARE_META_PRECEDENCE_ORDER"] == ["HTTP_X_REAL_IP"]
    assert behind["SESSION_COOKIE_SECURE"] is True
    assert behind["CSRF_COOKIE_SECURE"] is True


def test_invented_workshop_is_no_part_of_a_book_behind_tls_unless_asked_for(read: Any) -> None:
    assert "workshop.demo" in read()["INSTALLED_APPS"]
    assert "workshop.demo" not in read(TAREBOOK_HTTPS="1")["INSTALLED_APPS"]
    assert "workshop.demo" in read(TAREBOOK_HTTPS="1", TAREBOOK_DEMO="1")["INSTALLED_APPS"]


def test_uploads_have_no_address_of_their_own(client: Client) -> None:
    assert settings.MEDIA_URL == "/"  # Django's default: none was given
    assert settings.MEDIA_ROOT == settings.DATA_DIR / "uploads"


@pytest.mark.django_db
def test_stylesheet_is_served_without_debug_and_without_collecting(client: Client) -> None:
    answer = client.get("/static/css/tarebook.css")

    answer.close()

    assert settings.DEBUG is False
    assert answer.status_code == 200
    assert answer["Content-Type"].startswith("text/css")
