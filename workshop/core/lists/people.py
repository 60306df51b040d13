"""The list of who may sign in."""

from django.db.models import Q
from django.urls import reverse

from workshop.core.access import OWNER
from workshop.core.lists.columns import Act, Column, Name, State
from workshop.core.lists.listing import Listing, Pick, mentioning
from workshop.core.models import Role, User


def _state(user: User) -> str:
    return "may sign in" if user.is_active else "shut"


PEOPLE = Listing(
    columns=[
        Name(
            "Name",
            str,
            to=lambda user: reverse("core:person", args=[user.pk]),
            order=("first_name", "last_name"),
            place="c1",
            roles=tuple(OWNER),
        ),
        Name(
            "Name",
            str,
            place="c1",
            roles=tuple(set(Role) - set(OWNER)),
        ),
        Column("Sign-in name", lambda user: user.username, order=("username",)),
        Column("Role", lambda user: user.get_role_display(), order=("role",)),
        State(
            "State",
            _state,
            key_of=lambda user: "valid" if user.is_active else "shut",
            order=("is_active",),
        ),
        Act(
            "Password",
            lambda user: "New password",
            to=lambda user: reverse("core:password", args=[user.pk]),
            roles=tuple(OWNER),
        ),
    ],
    order=("-is_active", "username"),
    order_words="by name",
    none="Nobody may sign in.",
    search=mentioning("username", "first_name", "last_name"),
    search_word="Name",
    picks=[
        Pick("active", "May sign in", Q(is_active=True), "good"),
        Pick("shut", "Shut", Q(is_active=False), "plain"),
    ],
    file="people",
)
