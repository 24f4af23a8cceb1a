"""What a script is told in place of a page: a status that says what happened, and faults by field, never a page of a login."""

from collections.abc import Mapping

from django.http import HttpRequest, JsonResponse


def is_wanted(request: HttpRequest) -> bool:
    """Whether whoever asks sends JSON, or asks for nothing else."""
    return request.content_type == "application/json" or request.headers.get("Accept") == "application/json"


def refused(status: int, why: str | Mapping[str, str], *, code: str = "") -> JsonResponse:
    """A refusal: sentences by the field that each is about (blank: about none); `code` tells apart what has one status."""
    faults = {"": why} if isinstance(why, str) else dict(why)
    return JsonResponse({"faults": faults, "code": code}, status=status)
