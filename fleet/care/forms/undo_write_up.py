"""Taking a write-up back, and the form of a write-up filled with what was sent before, so that nothing is typed twice."""

from collections.abc import Collection, Iterable, Mapping
from typing import Any

from django.http import QueryDict

from fleet.care.forms.write_up_message import FAILED, WEIGHED, message_of
from fleet.care.pages.write_ups import Anew
from fleet.elements.action_form import ActionForm, why_field
from fleet.rules import readings

_WHOLE = ("technician", "minutes", "notes")
_HOW = {"mode": "mode", "fan": "fan", "minutes_running": "running"}


class UndoForm(ActionForm):
    """Why a write-up is taken back."""

    reason = why_field(
        "Reason for taking it back", required=True, error_messages={"required": "Say why it is taken back."}
    )


def filled(anew: Anew) -> QueryDict:
    """What a browser would send of a form that shows everything sent before, under a key of its own.

    A message may say more than the form can (a second failure's costs, a reading in another measure): that goes into the
    notes beside it, in words.
    """
    data, content, day = QueryDict(mutable=True), anew.content, anew.on.isoformat()
    said = message_of(_as_posted(content)) if isinstance(content.get("key"), list) else content
    data.update({name: _text(said.get(name)) for name in _WHOLE})
    data["key"], data["booking"], data["day"] = str(anew.key), str(anew.booking or ""), day
    for unit in said.get("units") or ():
        data.update(dict(_unit(unit)))
    _rows(data, "failed", (_failure(one, {day, _text(said.get("day"))}) for one in said.get("failures") or ()))
    _rows(data, "weighed", ({name: _text(one.get(name)) for name in WEIGHED} for one in said.get("refrigerant") or ()))
    return data


def _as_posted(content: Mapping[str, Any]) -> QueryDict:
    data = QueryDict(mutable=True)
    for name, values in content.items():
        data.setlist(name, list(values))
    return data


def _text(value: Any) -> str:
    return "" if value is None else str(value).strip()


def _unit(said: Mapping[str, Any]) -> Iterable[tuple[str, str]]:
    pk = _text(said.get("unit"))
    for task in said.get("done") or ():
        yield f"done-{pk}:{task}", "on"
    for skip in said.get("skipped") or ():
        yield f"skip-{pk}:{_text(skip.get('task'))}", _text(skip.get("reason"))
        if until := _text(skip.get("not_before")):
            yield f"until-{pk}", until
    yield f"wheel-{pk}", _text(said.get("dirt_wheel"))
    yield f"coil-{pk}", _text(said.get("dirt_coil"))
    measured = [one for one in said.get("readings") or () if _text(one.get("reading"))]
    how = _how(measured[0]) if measured else {}
    notes = [_text(said.get("notes"))]
    for one in measured:
        if _how(one) == how and _plain(one):
            yield f"read-{pk}-{_text(one['reading'])}", _text(one.get("value"))
        else:
            notes.append(_in_words(one))
    for name, field in _HOW.items():
        yield f"{field}-{pk}", how.get(name, "")
    yield f"notes-{pk}", "\n".join(filter(None, notes))


def _how(said: Mapping[str, Any]) -> dict[str, str]:
    return {name: _text(said.get(name)) for name in _HOW}


def _plain(said: Mapping[str, Any]) -> bool:
    """Whether the form can say a reading: in the first of its measures, without a note."""
    measures = readings.READINGS.get(_text(said["reading"]), ())
    usual = measures[0].unit if measures else ""
    return _text(said.get("measure")) in ("", usual) and not _text(said.get("note"))


def _in_words(said: Mapping[str, Any]) -> str:
    how = ", ".join(f"{name.replace('_', ' ')} {text}" for name, text in _how(said).items() if text)
    note = _text(said.get("note"))
    parts = [
        _text(said["reading"]),
        _text(said.get("value")),
        _text(said.get("measure")),
        f"({how})" if how else "",
        note,
    ]
    return f"Measured: {' '.join(filter(None, parts))}"


def _failure(said: Mapping[str, Any], days: Collection[str]) -> dict[str, str]:
    row = {name: _text(said.get(name)) for name in FAILED}
    more = {name: text for name, value in said.items() if name not in FAILED and (text := _text(value))}
    # Of the day of the visit, as the form has it.
    if more.get("repaired_on") in days:
        row["repaired"] = "on"
        del more["repaired_on"]
    if more.get("failed_on") in days:
        del more["failed_on"]
    words = "; ".join(f"{name.removesuffix('_on').replace('_', ' ')} {text}" for name, text in more.items())
    if words:
        row["notes"] = f"{row['notes'].rstrip('.')}; {words}" if row["notes"] else words
    return row


def _rows(data: QueryDict, name: str, rows: Iterable[Mapping[str, str]]) -> None:
    told_of = [row for row in rows if any(row.values())]
    for number, row in enumerate(told_of):
        data.update({f"{name}-{number}-{field}": text for field, text in row.items()})
    data[f"{name}-rows"] = str(max(len(told_of), 1))
