"""Requests that no database can take, or that nobody can read, are answered at the door."""

import codecs
from collections.abc import Callable, Iterable
from typing import Any

from django.core.exceptions import BadRequest
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.utils.http import parse_header_parameters

Application = Callable[[dict[str, Any], Callable[..., Any]], Iterable[bytes]]
HEADERS = [("Content-Type", "text/html; charset=utf-8"), ("Cache-Control", "private, no-store")]


def only_utf8(application: Application) -> Application:
    """Refuse a request that claims another encoding than UTF-8; every page of ours sends that.

    The framework decodes the address by it before anything of ours is asked, and there are
    "encodings" that make no text at all.
    """

    def answer(environ: dict[str, Any], start_response: Callable[..., Any]) -> Iterable[bytes]:
        if _claims_utf8(environ.get("CONTENT_TYPE") or ""):
            return application(environ, start_response)
        start_response("400 Bad Request", HEADERS)
        return [render_to_string("400.html").encode()]

    return answer


def _claims_utf8(content_type: str) -> bool:
    _, parameters = parse_header_parameters(content_type)
    try:
        return codecs.lookup(parameters.get("charset", "utf-8")).name in ("utf-8", "ascii")
    except (LookupError, ValueError):
        return False


def reject_null_bytes(
    get_response: Callable[[HttpRequest], HttpResponse],
) -> Callable[[HttpRequest], HttpResponse]:
    """Refuse an address with a null character: PostgreSQL cannot be asked for one.

    Forms refuse it field by field, with a sentence.
    """

    def answer(request: HttpRequest) -> HttpResponse:
        asked = [request.path, *(value for _, values in request.GET.lists() for value in values)]
        if any("\x00" in text for text in asked):
            raise BadRequest("The address holds a null character.")
        return get_response(request)

    return answer
