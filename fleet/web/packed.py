"""Answers as a phone's line wants them: text is sent compressed to a browser that asks for it."""

from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.middleware.gzip import GZipMiddleware

_TEXTS = {"application/json", "application/manifest+json"}


class PackedMiddleware(GZipMiddleware):
    """Compress what is text. Photos, PDFs, workbooks and backups are compressed already, and keep the length by which a download shows its progress."""

    def process_response(self, request: HttpRequest, response: HttpResponseBase) -> HttpResponseBase:
        """Compress an answer, or leave it as it is."""
        kind = response.headers.get("Content-Type", "").partition(";")[0].strip()
        if kind.startswith("text/") or kind in _TEXTS:
            return super().process_response(request, response)
        return response
