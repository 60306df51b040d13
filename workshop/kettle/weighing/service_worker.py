"""The service worker that lets a weigh-up open again without the network."""

import json
from hashlib import sha256
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles import finders
from django.http import HttpResponse
from django.templatetags.static import static
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from workshop.core.access import EVERYONE, Request, allow

WORKER = "js/kettle-worker.js"
LINKED = (
    "css/tarebook.css",
    "css/kettle.css",
    "js/scan.js",
    "js/tarebook.js",
    "js/weigh-up.js",
    "mark.svg",
)
# Modules that other modules import, by the name they lie under.
MODULES = ("cable", "draw", "not-taken", "page", "queue", "scale", "state", "sync", "timers")
IMPORTED = tuple(f"js/kettle-{name}.js" for name in MODULES)


@never_cache
@require_safe
@allow(EVERYONE)
def worker(request: Request) -> HttpResponse:
    """The worker, which a browser takes for a new one as soon as anything it keeps has changed."""
    files = [static(name) for name in LINKED] + [f"{settings.STATIC_URL}{n}" for n in IMPORTED]
    head = f"const VERSION = {json.dumps(version())};\nconst FILES = {json.dumps(files)};\n"
    return HttpResponse(head + _text(WORKER).decode(), content_type="text/javascript")


def version() -> str:
    """A name made of the contents of all that is kept."""
    contents = sha256()
    for name in (WORKER, *LINKED, *IMPORTED):
        contents.update(sha256(_text(name)).digest())
    return f"kettle-{contents.hexdigest()[:16]}"


def _text(name: str) -> bytes:
    return Path(str(finders.find(name))).read_bytes()
