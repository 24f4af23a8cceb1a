"""How a form's fields are drawn: the same HTML as Django's own templates, written in Python.

A page of a unit has seven fields and some ninety options; a template for each option and each attribute took a quarter of
the page's time. What is not listed here Django draws as it always does.
"""

from collections.abc import Mapping
from typing import Any

from django.forms.renderers import DjangoTemplates
from django.utils.html import conditional_escape, format_html
from django.utils.safestring import SafeString, mark_safe


class Renderer(DjangoTemplates):
    """Draw labels, plain inputs and choices here, everything else from Django's templates."""

    def render(self, template_name: str, context: dict[str, Any], request: Any = None) -> str:
        """Draw one widget or label."""
        draw = _DRAWN.get(template_name)
        if context.get("widget", {}).get("is_initial"):
            # A file that is there already comes with more than its input.
            draw = None
        return super().render(template_name, context, request) if draw is None else draw(context)


def _attributes(found: Mapping[str, Any]) -> str:
    return "".join(
        f" {conditional_escape(name)}" if value is True else f' {conditional_escape(name)}="{_text(value)}"'
        for name, value in found.items()
        if value is not False
    )


def _text(value: Any) -> str:
    return conditional_escape(value if isinstance(value, str) else str(value))


def _label(context: dict[str, Any]) -> SafeString:
    if not context["use_tag"]:
        return mark_safe(conditional_escape(context["label"]).strip())
    tag = context["tag"]
    return format_html("<{}{}>{}</{}>", tag, mark_safe(_attributes(context["attrs"] or {})), context["label"], tag)


def _input(context: dict[str, Any]) -> SafeString:
    widget = context["widget"]
    value = "" if widget["value"] is None else f' value="{_text(widget["value"])}"'
    named = f'<input type="{_text(widget["type"])}" name="{_text(widget["name"])}"'
    return mark_safe(f"{named}{value}{_attributes(widget['attrs'])}>")


def _textarea(context: dict[str, Any]) -> SafeString:
    widget = context["widget"]
    value = _text(widget["value"]) if widget["value"] else ""
    return mark_safe(f'<textarea name="{_text(widget["name"])}"{_attributes(widget["attrs"])}>\n{value}</textarea>')


def _option(context: dict[str, Any]) -> SafeString:
    """Draw one box of several, in its label where the widget draws that as well."""
    widget = context["widget"]
    if not widget.get("wrap_label"):
        return _input(context)
    named = f' for="{_text(widget["attrs"]["id"])}"' if widget["attrs"].get("id") else ""
    return mark_safe(f"<label{named}>{_input(context)} {_text(widget['label'])}</label>")


def _select(context: dict[str, Any]) -> SafeString:
    widget = context["widget"]
    found = [f'<select name="{_text(widget["name"])}"{_attributes(widget["attrs"])}>']
    for group, options, _ in widget["optgroups"]:
        if group:
            found.append(f'<optgroup label="{_text(group)}">')
        found.extend(
            f'<option value="{_text(option["value"])}"{_attributes(option["attrs"])}>{_text(option["label"])}</option>'
            for option in options
        )
        if group:
            found.append("</optgroup>")
    return mark_safe("\n".join([*found, "</select>"]))


_WIDGETS = "django/forms/widgets"
_DRAWN = {
    "django/forms/label.html": _label,
    f"{_WIDGETS}/select.html": _select,
    f"{_WIDGETS}/textarea.html": _textarea,
    f"{_WIDGETS}/checkbox_option.html": _option,
    f"{_WIDGETS}/radio_option.html": _option,
    **{
        f"{_WIDGETS}/{name}.html": _input
        for name in (
            "input",
            "text",
            "number",
            "email",
            "password",
            "hidden",
            "date",
            "checkbox",
            "file",
            "clearable_file_input",
        )
    },
}
