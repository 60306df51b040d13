"""The container's health check: the book answers, and so does its database."""

import os
import sys
import urllib.error
import urllib.request

host = os.environ.get("TAREBOOK_HOSTS", "localhost").split(",")[0]
request = urllib.request.Request(
    f"http://127.0.0.1:{os.environ.get('PORT', '8000')}/health/", headers={"Host": host}
)
try:
    with urllib.request.urlopen(request, timeout=4) as answer:  # noqa: S310  as above
        sys.exit(answer.status != 200)
except urllib.error.URLError as problem:
    sys.exit(f"not healthy: {problem}")
