"""Requests written as nothing of ours writes them are refused in words, before they are read."""

import io
import logging
from typing import Any
from wsgiref.util import setup_testing_defaults

import pytest

from workshop.wsgi import application

pytestmark = pytest.mark.django_db
FORM = "application/x-www-form-urlencoded"
NOT_UTF8 = [
    "utf-16", "utf-7", "latin-1", "idna", "punycode", "undefined", "rot13", "base64", "zlib",
    "no-such", "a\x00b", "x" * 5000,
]  # fmt: skip


def ask(method: str, path: str, content_type: str, body: bytes) -> tuple[str, str]:
    """Status and page, as the server of the book would get them."""
    environ: dict[str, Any] = {"REQUEST_METHOD": method, "CONTENT_TYPE": content_type}
    environ |= {"PATH_INFO": path, "QUERY_STRING": "q=%FF", "HTTP_HOST": "localhost"}
    environ |= {"CONTENT_LENGTH": str(len(body)), "wsgi.input": io.BytesIO(body)}
    setup_testing_defaults(environ)
    said: list[str] = []
    page = b"".join(application(environ, lambda status, *_: said.append(status)))
    return said[0], page.decode()


@pytest.mark.parametrize("charset", NOT_UTF8)
@pytest.mark.parametrize("kind", [FORM, "multipart/form-data; boundary=x", "application/json"])
@pytest.mark.parametrize("method", ["POST", "GET"])
def test_request_in_another_encoding_is_refused_in_words(
    method: str, kind: str, charset: str, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.WARNING)
    body = "username=odile&password=x".encode("utf-16")

    status, page = ask(method, "/sign-in/", f"{kind}; charset={charset}", body)

    assert status.startswith("400")
    assert "Nothing was written. Go back and try again." in page
    assert len(caplog.records) <= 1


@pytest.mark.parametrize("charset", ["", "; charset=UTF-8", "; charset=utf8", '; charset="utf-8"'])
def test_request_in_our_own_encoding_is_read(charset: str) -> None:
    status, _ = ask("GET", "/sign-in/", FORM + charset, b"")

    assert status == "200 OK"


@pytest.mark.parametrize(
    "content_type",
    ["multipart/form-data", "multipart/form-data; boundary=", ";;;", f"{FORM}; charset", ""],
)
@pytest.mark.parametrize("body", [b"", b"--x\r\n", bytes(100), b"%ED%A0%80=%FF&=&&=;"])
def test_odd_kinds_of_form_are_no_error_of_the_server(content_type: str, body: bytes) -> None:
    status, _ = ask("POST", "/sign-in/", content_type, body)

    assert status[:3] in ("400", "403")
