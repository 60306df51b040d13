"""Small helps for views."""

from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import QuerySet

from workshop.core.access import Request

PER_PAGE = 50


def page_of(request: Request, rows: QuerySet[Any]) -> Page[Any]:
    """The page of `rows` that the address asks for; an odd number gives the nearest page."""
    return Paginator(rows, PER_PAGE).get_page(request.GET.get("page"))


def asked_for(request: Request, name: str = "q") -> str:
    """The words that a list is narrowed down by."""
    return request.GET.get(name, "").strip()
