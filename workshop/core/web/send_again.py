"""What somebody had filled in when the book could not take it, on a page that sends it again.

Passwords and files are not given back: they are asked for by name, so that nothing is recorded
without a file that was meant to go along.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest
from django.middleware.csrf import get_token

SECRET = "password"  # noqa: S105 -- in the name of every field that holds one
CSRF = "csrfmiddlewaretoken"
OF_THE_PAGE = re.compile(r"token|^seen$")


@dataclass(frozen=True)
class Asked:
    """A field that is to be filled in once more: its name, and in words which it is."""

    name: str
    words: str
    is_file: bool = False
    is_several: bool = False


@dataclass(frozen=True)
class Sent:
    """A form as it was sent: where to, under a fresh token, what it held, and what to ask again."""

    address: str
    csrf_token: str
    fields: list[tuple[str, str]]
    asked: list[Asked]

    @property
    def has_files(self) -> bool:
        return any(one.is_file for one in self.asked)

    @property
    def shown(self) -> list[tuple[str, str]]:
        """What a person may have filled in: neither what is empty nor what the page put there."""
        return [
            (words_of(name), value)
            for name, value in self.fields
            if value.strip() and name.islower() and not OF_THE_PAGE.search(name)
        ]


def sent(request: HttpRequest) -> Sent | None:
    """What a person's page had sent; None for a page that was only read, and for our own scripts.

    Those name what they accept; they keep what they send, and try again by themselves.
    """
    is_page = "text/html" in request.headers.get("Accept", "")
    if request.method != "POST" or not is_page or not _is_ours(request):
        return None
    fields = [(name, value) for name, values in request.POST.lists() for value in values]
    kept = [(name, value) for name, value in fields if name != CSRF and not _is_secret(name)]
    passwords = [Asked(name, words_of(name)) for name in request.POST if _is_secret(name)]
    files = [
        Asked(name, f"{words_of(name)} ({_names(files)})", is_file=True, is_several=len(files) > 1)
        for name, files in request.FILES.lists()
    ]
    return Sent(request.get_full_path(), get_token(request), kept, passwords + files)


def _is_ours(request: HttpRequest) -> bool:
    """Whether a page of ours sent it: what another site had a browser send is not offered again."""
    return bool(getattr(request, "csrf_processing_done", False))


def _names(files: Sequence[Any]) -> str:
    return ", ".join(str(file.name) for file in files)


def _is_secret(name: str) -> bool:
    return SECRET in name.lower()


def words_of(name: str) -> str:
    """The name of a field in words; rows are counted from one, as people do."""
    parts = [str(int(part) + 1) if part.isdecimal() else part for part in re.split("[-_]+", name)]
    return " ".join(filter(None, parts)).capitalize()
