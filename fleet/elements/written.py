"""A paper written on screen: which fields a file of its kind has, and what was typed turned into the file's table and back.

A form and a file make the same table, so the same reader takes or refuses both. A field is called as its place in the table,
`coverage[2].tiers[1].months`, which is how a reader names what is wrong, so each fault stands at its field. What was typed
is kept as text until the reader has seen it: a number that is none is refused by the reader, in its own words.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fleet.rules import dates
from fleet.rules.spreadsheets.places import region, region_name
from fleet.rules.wording.money import plain_amount
from fleet.sheets import toml as writing

# Kinds of fields: a line of text, words one to a line, a day, a whole number, an exact amount, yes or no, one word of several,
# some words of several, a state or province (typed by its name or letters, in a file by its ISO 3166-2 code).
KINDS = ("text", "lines", "day", "whole", "amount", "flag", "choice", "words", "place")
Choices = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Field:
    """One value under a key; a flag's box, once ticked, says what it `means`."""

    key: str
    label: str
    kind: str = "text"
    choices: Choices = ()
    help: str = ""
    means: bool = True


@dataclass(frozen=True, slots=True)
class Part:
    """A table under a key, which is there as soon as something is typed in it."""

    key: str
    label: str
    fields: "tuple[Node, ...]"


@dataclass(frozen=True, slots=True)
class Rows:
    """A list of tables under a key, each a `one`."""

    key: str
    label: str
    one: str
    fields: "tuple[Node, ...]"


@dataclass(frozen=True, slots=True)
class Pairs:
    """A table of amounts by word under a key, each a `one`; the words are those of `choices`, or any."""

    key: str
    label: str
    one: str
    choices: Choices = ()


Node = Field | Part | Rows | Pairs


@dataclass(frozen=True, slots=True)
class Drawn:
    """A node with what was typed in it, as a page draws it: `name` is its place, `faults` what is wrong there."""

    node: Node
    name: str
    value: Any = ""
    inner: "tuple[Drawn, ...]" = ()
    faults: tuple[str, ...] = ()

    @property
    def shape(self) -> str:
        """How it is drawn: the kind of a field, or part, rows, pairs."""
        match self.node:
            case Field(kind=kind):
                return kind
            case Part():
                return "part"
            case Rows():
                return "rows"
            case Pairs():
                return "pairs"

    @property
    def is_filled(self) -> bool:
        """Whether something was typed in it or in what it holds."""
        return bool(self.value) or any(one.is_filled for one in self.inner)

    @property
    def is_wrong(self) -> bool:
        """Whether something is wrong in it or in what it holds."""
        return bool(self.faults) or any(one.is_wrong for one in self.inner)

    @property
    def chosen(self) -> str:
        """The choices made in a field of several words, as a line."""
        assert isinstance(self.node, Field)
        labels = dict(self.node.choices)
        return ", ".join(labels.get(word, word) for word in self.value)

    @property
    def chosen_first(self) -> Choices:
        """The choices of a field of several words, those chosen first and in their order, since files keep an order."""
        assert isinstance(self.node, Field)
        labels = dict(self.node.choices)
        chosen = [(word, labels.get(word, word)) for word in self.value]
        return (*chosen, *(one for one in self.node.choices if one[0] not in self.value))


# ------------------------------------------------------------------------------------------------- a table as typed

Typed = dict[str, list[str]]


def typed(nodes: Sequence[Node], table: Mapping[str, Any], under: str = "") -> Typed:
    """What would have to be typed so that a form makes this table."""
    found: Typed = {}
    for node in nodes:
        name, value = f"{under}{node.key}", table.get(node.key)
        match node:
            case Field(kind="flag"):
                if value is node.means:
                    found[name] = ["yes"]
            case Field():
                found[name] = _texts(node, value)
            case Part():
                found |= typed(node.fields, value or {}, f"{name}.")
            case Rows():
                found[f"{name}#"] = [str(len(value or ()))]
                for number, row in enumerate(value or (), 1):
                    found |= typed(node.fields, row, f"{name}[{number}].")
            case Pairs():
                found[f"{name}#"] = [str(len(value or ()))]
                for number, (word, amount) in enumerate((value or {}).items(), 1):
                    found |= {f"{name}[{number}].word": [word], f"{name}[{number}].amount": [str(amount)]}
    return found


def _texts(node: Field, value: Any) -> list[str]:
    texts = [str(one) for one in (value if isinstance(value, list) else [] if value is None else [value])]
    match node.kind:
        case "lines":
            return ["\n".join(texts)]
        case "place":
            return [region_name(text) for text in texts]
        case _:
            return texts


# ------------------------------------------------------------------------------------------------- typed as a table

# More rows of one kind than this no paper has.
MOST_ROWS = 60


def table(nodes: Sequence[Node], given: Mapping[str, Sequence[str]], under: str = "") -> dict[str, Any]:
    """The table that what was typed makes; what is blank is left out, what is no number or day stays the text it is."""
    found: dict[str, Any] = {}
    for node in nodes:
        name = f"{under}{node.key}"
        match node:
            case Field():
                value = _value(node, given.get(name, ()))
                if value is not None:
                    found[node.key] = value
            case Part():
                inner = table(node.fields, given, f"{name}.")
                if inner:
                    found[node.key] = inner
            case Rows():
                rows = [table(node.fields, given, f"{name}[{number}].") for number in _numbers(given, name)]
                if rows:
                    found[node.key] = rows
            case Pairs():
                pairs = {
                    _one(given, f"{name}[{n}].word"): plain_amount(_one(given, f"{name}[{n}].amount"))
                    for n in _numbers(given, name)
                }
                if pairs:
                    found[node.key] = pairs
    return found


def _numbers(given: Mapping[str, Sequence[str]], name: str) -> range:
    count = _one(given, f"{name}#")
    return range(1, min(int(count), MOST_ROWS) + 1 if re.fullmatch(r"\d{1,3}", count) else 1)


def _one(given: Mapping[str, Sequence[str]], name: str) -> str:
    return next(iter(given.get(name, ())), "").strip()


def _value(node: Field, texts: Sequence[str]) -> Any:
    text = next(iter(texts), "").strip()
    match node.kind:
        case "flag":
            return node.means if text else None
        case "words":
            return [*texts] or None
        case "lines":
            return [line.strip() for line in text.splitlines() if line.strip()] or None
        case "place":
            return region(text) or text or None
        case "whole":
            return int(text) if re.fullmatch(r"-?\d{1,9}", text) else text or None
        case "day":
            return dates.written(text) or text or None
        case "amount":
            return plain_amount(text) or None
        case _:
            return text or None


# ------------------------------------------------------------------------------------------------- on a page


def drawn(
    nodes: Sequence[Node], given: Mapping[str, Sequence[str]], faults: Mapping[str, Sequence[str]], under: str = ""
) -> tuple[Drawn, ...]:
    """The fields with what was typed and what is wrong, as a page draws them."""
    return tuple(_drawn(node, given, faults, f"{under}{node.key}") for node in nodes)


def _drawn(node: Node, given: Mapping[str, Sequence[str]], faults: Mapping[str, Sequence[str]], name: str) -> Drawn:
    wrong = tuple(faults.get(name, ()))
    match node:
        case Field(kind="words"):
            return Drawn(node, name, tuple(given.get(name, ())), faults=wrong)
        case Field():
            return Drawn(node, name, next(iter(given.get(name, ())), ""), faults=wrong)
        case Part():
            return Drawn(node, name, "", drawn(node.fields, given, faults, f"{name}."), wrong)
        case Rows():
            rows = tuple(
                Drawn(
                    Part(node.key, f"{node.one} {n}", node.fields), f"{name}[{n}]", "",
                    drawn(node.fields, given, faults, f"{name}[{n}]."), tuple(faults.get(f"{name}[{n}]", ())),
                )
                for n in _numbers(given, name)
            )  # fmt: skip
            return Drawn(node, name, len(rows), rows, wrong)
        case Pairs():
            word = Field("word", node.one, "choice" if node.choices else "text", node.choices)
            amount = Field("amount", "Amount", "amount")
            pairs = tuple(
                Drawn(
                    Part(node.key, f"{node.one} {n}", (word, amount)), f"{name}[{n}]", "",
                    drawn((word, amount), given, {}, f"{name}[{n}]."),
                    tuple(faults.get(f"{name}.{_one(given, f'{name}[{n}].word')}", ())),
                )
                for n in _numbers(given, name)
            )  # fmt: skip
            return Drawn(node, name, len(pairs), pairs, wrong)


# ------------------------------------------------------------------------------------------------- adding and removing rows

_ROW = re.compile(r"(.+)\[(\d{1,3})\]")


def with_row(given: Mapping[str, Sequence[str]], name: str) -> Typed:
    """What was typed, with one more row in a list of rows."""
    count = len(_numbers(given, name))
    return {**{key: [*texts] for key, texts in given.items()}, f"{name}#": [str(min(count + 1, MOST_ROWS))]}


def without_row(given: Mapping[str, Sequence[str]], row: str) -> Typed:
    """What was typed, without one row of a list: those after it move up."""
    match = _ROW.fullmatch(row)
    count = len(_numbers(given, match[1])) if match else 0
    if match is None or not 1 <= int(match[2]) <= count:
        return {key: [*texts] for key, texts in given.items()}
    name, number = match[1], int(match[2])
    found: Typed = {}
    for key, texts in given.items():
        inside = re.match(rf"{re.escape(name)}\[(\d+)\](.*)", key, re.DOTALL)
        if inside is None or int(inside[1]) < number:
            found[key] = [*texts]
        elif int(inside[1]) > number:
            found[f"{name}[{int(inside[1]) - 1}]{inside[2]}"] = [*texts]
    return found | {f"{name}#": [str(count - 1)]}


# ------------------------------------------------------------------------------------------------- as a file


def toml(nodes: Sequence[Node], values: Mapping[str, Any]) -> str:
    """The table as a TOML file, in the order of the fields: what is simple first, then each list of tables."""
    return "\n".join(_lines(nodes, values, "")).strip() + "\n"


def _lines(nodes: Sequence[Node], values: Mapping[str, Any], under: str) -> Iterator[str]:
    later = []
    for node in nodes:
        value = values.get(node.key)
        if value is None:
            continue
        if under or isinstance(node, Field) or _is_short(node, value):
            yield writing.entry(node.key, value)
        else:
            later.append(node)
    for node in later:
        value = values[node.key]
        assert isinstance(node, (Part, Rows, Pairs))
        fields = () if isinstance(node, Pairs) else node.fields
        for entry in value if isinstance(node, Rows) else (value,):
            yield ""
            yield f"[[{node.key}]]" if isinstance(node, Rows) else f"[{node.key}]"
            if isinstance(node, Pairs):
                yield from (writing.entry(word, amount) for word, amount in entry.items())
            else:
                yield from _lines(fields, entry, node.key)


def _is_short(node: Node, value: Any) -> bool:
    """Whether a table, or each of a list of tables, is short enough for one line."""
    tables = value if isinstance(node, Rows) else [value]
    return all(len(one) < 4 and not any(isinstance(inner, (list, dict)) for inner in one.values()) for one in tables)
