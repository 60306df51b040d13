"""Who may open which page: every view names its roles, and a view that names none is shut."""

from collections.abc import Callable
from typing import Any, TypeVar

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.utils.deprecation import MiddlewareMixin

from workshop.core.models import Role, User

View = TypeVar("View", bound=Callable[..., Any])

EVERYONE = frozenset(Role)
WORKERS = frozenset({Role.OWNER, Role.MAKER, Role.PACKER})
MAKERS = frozenset({Role.OWNER, Role.MAKER})
PACKERS = frozenset({Role.OWNER, Role.PACKER})
OWNER = frozenset({Role.OWNER})
READS = frozenset({"GET", "HEAD", "OPTIONS"})


class Request(HttpRequest):
    """A request as views see it behind the middleware: somebody is signed in."""

    user: User
    htmx: Any


def allow(
    roles: frozenset[Role], *, write: frozenset[Role] | None = None
) -> Callable[[View], View]:
    """Say which roles may read a view and which may send it data.

    The inspector reads and changes nothing, so is left out of `write` unless named there.
    """
    writers = roles - {Role.INSPECTOR} if write is None else write

    def mark(view: View) -> View:
        view.read_roles = roles  # type: ignore[attr-defined]
        view.write_roles = writers  # type: ignore[attr-defined]
        return view

    return mark


def may(user: User, view: Any, method: str) -> bool:
    """Whether this person may call this view with this method."""
    roles: frozenset[Role] = getattr(
        view, "read_roles" if method in READS else "write_roles", frozenset()
    )
    return user.role in roles


class RoleMiddleware(MiddlewareMixin):
    """Refuse every view that does not name the role of whoever asks."""

    def process_view(
        self, request: Request, view: Any, args: tuple[Any, ...], kwargs: dict[str, Any]
    ) -> HttpResponse | None:
        if not getattr(view, "login_required", True):
            return None
        if not may(request.user, view, request.method or ""):
            raise PermissionDenied(f"This page is not for a {request.user.role}.")
        return None
