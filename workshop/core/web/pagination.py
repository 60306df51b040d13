"""Small helps for views."""

from workshop.core.access import Request

PER_PAGE = 50


def asked_for(request: Request, name: str = "q") -> str:
    """The words that a list is narrowed down by."""
    return request.GET.get(name, "").strip()
