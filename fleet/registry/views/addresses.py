"""An address taken apart while a form is written."""

from django.http import HttpRequest, JsonResponse
from django.views.decorators.http import require_safe

from fleet.registry.queries import addresses


@require_safe
def address_parts(request: HttpRequest) -> JsonResponse:
    """The parts of a whole address, and what was made of it in words; nothing of a text that is none."""
    parts = addresses.read(request.GET.get("text", "").replace("\0", ""))
    if parts is None:
        return JsonResponse({})
    told = {name: getattr(parts, name) for name in ("street", "city", "region", "postcode", "words")}
    return JsonResponse(told)
