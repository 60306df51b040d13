"""What the service worker of the weigh-up is told to keep."""

import json
import re
from pathlib import Path

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse

from tests import make
from workshop.kettle.weighing.service_worker import IMPORTED, LINKED, version

STATIC = Path(settings.BASE_DIR) / "static"


def modules_behind(name: str) -> set[str]:
    """A script with all that it imports, directly or not."""
    ahead, found = [name], set[str]()
    while ahead:
        one = ahead.pop()
        found.add(f"js/{one}")
        text = (STATIC / "js" / one).read_text("utf-8")
        ahead += [
            two for two in re.findall(r'"\./([a-z-]+\.js)"', text) if f"js/{two}" not in found
        ]
    return found


def test_every_module_of_the_weigh_up_is_kept_for_weighing_without_network() -> None:
    scripts = {name for name in (*LINKED, *IMPORTED) if name.endswith(".js")}

    assert scripts == modules_behind("weigh-up.js") | {"js/scan.js", "js/tarebook.js"}
    assert all((STATIC / name).exists() for name in (*LINKED, *IMPORTED))


@pytest.mark.django_db
def test_worker_comes_fresh_and_names_what_it_keeps(client: Client) -> None:
    client.force_login(make.user())

    answer = client.get(reverse("kettle:worker"))

    first, second, *_ = answer.content.decode().splitlines()
    assert answer.headers["Content-Type"] == "text/javascript"
    assert "no-store" in answer.headers["Cache-Control"]
    assert first == f"const VERSION = {json.dumps(version())};"
    files = json.loads(second.removeprefix("const FILES = ").removesuffix(";"))
    assert files == [f"/static/{name}" for name in (*LINKED, *IMPORTED)]
