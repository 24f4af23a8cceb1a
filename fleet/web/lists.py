"""Answering with a list: as a page, as the part of it that changes, or as a file."""

import datetime as dt
from collections.abc import Callable
from functools import cached_property
from typing import Any, cast

from django import forms
from django.http import HttpRequest, HttpResponse, QueryDict
from django.http.response import HttpResponseBase
from django.views.decorators.http import require_safe

from fleet import clock
from fleet.elements.listing import Filter, List, Listing
from fleet.web import export
from fleet.web.htmx import page_or_part


class ListForm(forms.Form):
    """The filters of a list, and the sort, read from its address.

    What cannot be meant is said beside its field and left out, so that an old or broken link still shows a list.
    """

    def __init__(self, data: Any, of: List, *, on: dt.date) -> None:
        super().__init__(data, label_suffix="")
        self.of, self.on = of, on
        for one in of.filters:
            self.fields[one.name] = _field(one)
        choices = [
            (f"{sign}{column.name}", f"{column.title}{words}")
            for column in of.columns
            if column.order
            for sign, words in (("", ""), ("-", ", falling"))
        ]
        self.fields["sort"] = forms.CharField(required=False, max_length=40, label="Sort by")
        self.fields["sort"].widget = forms.Select(choices=[("", "as usual"), *choices])

    @property
    def query(self) -> QueryDict:
        """What was asked for, as an address has it."""
        query = QueryDict(mutable=True)
        query.update({name: self.data[name] for name in self.data if name in self.fields})
        return query

    @cached_property
    def chosen(self) -> dict[str, Any]:
        """What the list is asked for, as far as it can be meant."""
        self.is_valid()
        return self.cleaned_data


def _field(one: Filter) -> forms.Field:
    label = one.label or one.name.capitalize()
    if one.between:
        least, most = one.between
        return forms.IntegerField(required=False, min_value=least, max_value=most, label=label)
    if one.choices is None:
        kind = "date" if one.day else "search"
        widget = forms.TextInput(attrs={"type": kind, "autocomplete": "off", "spellcheck": "false"})
        return forms.CharField(required=False, max_length=100, label=label, widget=widget)
    pairs = one.pairs
    return forms.TypedChoiceField(
        required=False,
        label=label,
        choices=pairs,
        coerce=cast(Any, type(pairs[-1][0])),
        empty_value=cast(Any, one.usual),
        widget=forms.HiddenInput if one.hidden else forms.Select,
    )


def view(of: List, template: str) -> Callable[[HttpRequest], HttpResponseBase]:
    """The view of a list that has nothing else on its page."""

    @require_safe
    def listed(request: HttpRequest) -> HttpResponseBase:
        return respond(request, of, template)

    return listed


def respond(request: HttpRequest, of: List, template: str, **context: Any) -> HttpResponseBase:
    """Answer with a list: a file where the address asks for one, else a page of it."""
    return file(request, of) or shown(request, ListForm(request.GET, of, on=clock.today()), template, **context)


def file(request: HttpRequest, of: List) -> HttpResponseBase | None:
    """The list as a file, where the address asks for one (`as=csv`)."""
    kind = export.wanted(request)
    if not kind:
        return None
    form, written = ListForm(request.GET, of, on=clock.today()), of.in_files or of
    rows = written.all(written.filters_for(**form.chosen), on=form.on)
    return export.respond(kind, name=of.file, on=form.on, columns=written.columns, rows=rows)


def page(request: HttpRequest, form: ListForm) -> Listing:
    """The page of a list that the address asks for."""
    return form.of.page(form.of.filters_for(**form.chosen), number=request.GET.get("page"), on=form.on)


def shown(
    request: HttpRequest,
    form: ListForm,
    template: str,
    *,
    listing: Listing | None = None,
    status: int = 200,
    **context: Any,
) -> HttpResponse:
    """Show one page of a list; its template extends `_shared/list_page.html`, which tells the page from the part."""
    listing = listing or page(request, form)
    context = {"listing": listing, "form": form, "lead": form.of.lead(listing), **context}
    return page_or_part(request, template, template, context, status=status)
