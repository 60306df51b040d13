"""What the book answers stays with whoever was signed in: no browser or proxy keeps it.

Without this, the button Back shows the customers after somebody has signed out.
"""

from collections.abc import Callable

from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.utils.cache import patch_cache_control

Answer = Callable[[HttpRequest], HttpResponseBase]


def no_store(get_response: Answer) -> Answer:
    """Forbid keeping every answer that comes this far; static files are answered before."""

    def answer(request: HttpRequest) -> HttpResponseBase:
        response = get_response(request)
        patch_cache_control(response, private=True, no_store=True)
        return response

    return answer
