"""While a book is begun, what was saved leads straight to the next step."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from workshop.core.models import Role
from workshop.front import first_hour

Answer = Callable[[HttpRequest], HttpResponse]


def onward(get_response: Answer) -> Answer:
    """A saved page whose address carries the mark of a first step goes on to the next one.

    Its own answer is kept where the step is not done yet, or where nothing is missing any more.
    """

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if not (
            request.method == "POST"
            and first_hour.MARK in request.GET
            and response.has_header("Location")
        ):
            return response
        if getattr(request.user, "role", "") == Role.OWNER and not first_hour.is_over():
            step = next(iter(first_hour.missing(first_hour.steps())), None)
            if step is not None and step.address.partition("?")[0] != request.path:
                response["Location"] = step.address
        return response

    return answer
