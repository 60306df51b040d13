"""Requests that no database can take are answered at the door."""

from collections.abc import Callable

from django.core.exceptions import BadRequest
from django.http import HttpRequest, HttpResponse


def no_null_characters(
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
