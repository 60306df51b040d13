"""Pages, styles and scripts are compressed on their way; nothing else gains by it.

What is computed for a device at the stove is small and must not wait, a PDF or a photo is packed
already. The framework pads what it compresses, so that its length tells nothing (BREACH).
"""

from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.middleware.gzip import GZipMiddleware

PACKED = ("text/html", "text/css", "text/javascript")


class CompressedPages(GZipMiddleware):
    def process_response(
        self, request: HttpRequest, response: HttpResponseBase
    ) -> HttpResponseBase:
        kind = response.headers.get("Content-Type", "").partition(";")[0]
        if response.status_code != 200 or kind not in PACKED:
            return response
        return super().process_response(request, response)
