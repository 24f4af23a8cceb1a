"""What goes out with a claim: its paper, and the tag on the old part."""

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_safe

from fleet.claims.papers import claim_paper as drawn
from fleet.claims.papers import return_tag
from fleet.claims.queries import claim_paper as queries
from fleet.facts import company


@require_safe
def claim_paper(request: HttpRequest, pk: int) -> HttpResponse:
    """Hand out the paper of a claim."""
    page = queries.paper(pk, company=company.company())
    if page is None:
        raise Http404
    return _handed_out(drawn.pdf(page), page.filename)


@require_safe
def claim_tag(request: HttpRequest, pk: int) -> HttpResponse:
    """Hand out the tag of a claim's old part; its code opens the claim at the address by which we were asked."""
    page = queries.tag(
        pk,
        company=company.company(),
        address_of=lambda pk: request.build_absolute_uri(reverse("claim", args=[pk])),
    )
    if page is None:
        raise Http404
    return _handed_out(return_tag.pdf(page), page.filename)


def _handed_out(content: bytes, filename: str) -> HttpResponse:
    headers = {"Content-Disposition": f'attachment; filename="{filename}"'}
    return HttpResponse(content, content_type="application/pdf", headers=headers)
