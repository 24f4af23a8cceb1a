"""People as a spreadsheet names them: names, phone numbers and e-mail addresses."""

import re

# A number of the North American plan: the area code and the exchange begin with 2 to 9 (ATIS-0300051, "NXX-NXX-XXXX").
_NUMBER = re.compile(r"(?:\+?1[\s.\-/]*)?\(?([2-9][0-9]{2})\)?[\s.\-/]*([2-9][0-9]{2})[\s.\-/]*([0-9]{4})(?:\.0)?")
_LOCAL = re.compile(r"([2-9][0-9]{2})[\s.\-]*([0-9]{4})")
_EXTENSION = re.compile(r"[\s,;]*(?:extension|ext|x)[\s.:#]*([0-9]{1,6})$", re.IGNORECASE)
# Which of somebody's telephones it is, before or behind the number.
_WHICH = r"\(?(?:cell(?:ular)?|mobile|home|house|work|office|phone|tel|ph|[chwmop])\)?[.:\-]*"
_LABELED = re.compile(rf"(?:{_WHICH}\s+|{_WHICH}(?=[\d(+]))?(.*?)(?:\s*{_WHICH})?", re.IGNORECASE)
_EMAIL = re.compile(r"[^@\s,;<>()\"]+@[^@\s,;<>()\".]+(?:\.[^@\s,;<>()\".]+)+")


def phone(cell: str) -> str | None:
    """A phone number in one style, or nothing where the cell is not one phone number and no more.

    >>> phone("(207) 555.0134 ext 2"), phone("+12075550134"), phone("c: 207/555-0134"), phone("555-0134")
    ('207-555-0134 x2', '207-555-0134', '207-555-0134', '555-0134')
    >>> phone("207-555-0134 or 207-555-0135"), phone("call her daughter")
    (None, None)
    """
    text = " ".join(cell.split())
    behind = _EXTENSION.search(text)
    extension = f" x{behind[1]}" if behind else ""
    if behind:
        text = text[: behind.start()]
    labeled = _LABELED.fullmatch(text)
    bare = labeled[1] if labeled else text
    if match := _NUMBER.fullmatch(bare):
        return f"{match[1]}-{match[2]}-{match[3]}{extension}"
    if match := _LOCAL.fullmatch(bare):
        return f"{match[1]}-{match[2]}{extension}"
    return None


def phones_in(cell: str) -> tuple[str, ...]:
    """Every whole phone number in a cell that holds more than one, or other words as well: the first is proposed."""
    matches = re.finditer(rf"(?<![0-9]){_NUMBER.pattern}(?![0-9])", " ".join(cell.split()))
    return tuple(f"{one[1]}-{one[2]}-{one[3]}" for one in matches)


def without_phones(cell: str) -> str:
    """A text without its phone numbers and what names them.

    >>> without_phones("Ann Ibarra (207) 555-0134"), without_phones("Ann Ibarra, cell: 207-555-0134"), without_phones("Ann Ibarra")
    ('Ann Ibarra', 'Ann Ibarra', 'Ann Ibarra')
    """
    text = re.sub(
        rf"(?<![0-9])(?:{_WHICH}\s*)?{_NUMBER.pattern}(?![0-9])", " ", " ".join(cell.split()), flags=re.IGNORECASE
    )
    return " ".join(text.split()).strip(" ,;:/-–")


def emails_in(cell: str) -> tuple[str, ...]:
    """Every e-mail address in a cell that holds more than one, or other words as well."""
    return tuple(found.strip("<>;,.") for found in _EMAIL.findall(cell))


def email(cell: str) -> str | None:
    """An e-mail address, or nothing where the cell is not one and no more.

    >>> email("mailto:Ann@Ibarra.example;"), email("ann at ibarra")
    ('Ann@Ibarra.example', None)
    """
    text = cell.strip().strip("<>;,.").removeprefix("mailto:")
    return text if _EMAIL.fullmatch(text) else None


_SUFFIXES = frozenset(("jr", "sr", "ii", "iii", "iv", "md", "esq"))
_COMPANY = frozenset(("llc", "inc", "co", "corp", "ltd", "company", "trust", "church", "association", "assoc"))
_SAME_WORD = {
    "&": "and",
    "+": "and",
    "est": "estate",
    "assn": "association",
    "assoc": "association",
    "corp": "corporation",
}
_WORDS = re.compile(r"[&+]|[^\W_]+(?:['’][^\W_]+)*")


def name(cell: str) -> str:
    """A customer's name as it is written, each gap one space: "&", "c/o" and "Est. of" are part of a name.

    >>> name("Est. of  Harold Finch c/o R. Dunmore & Sons")
    'Est. of Harold Finch c/o R. Dunmore & Sons'
    """
    return " ".join(cell.split())


def same_name(cell: str) -> str:
    """What names have in common that are most likely written for one customer; whoever reads the list says whether they are.

    >>> same_name("Ibarra, Bob & Sue") == same_name("BOB AND SUE IBARRA")
    True
    >>> same_name("Est. of H. Finch") == same_name("Estate of H Finch"), same_name("Bob Ibarra") == same_name("Rob Ibarra")
    (True, False)
    """
    before, comma, behind = cell.partition(",")
    words, after = _folded(before), _folded(behind)
    is_person = not {*words, *after} & _COMPANY and not set(after) <= _SUFFIXES
    if comma and is_person and len(words) <= 2 and "," not in behind and "of" not in words:
        words, after = after, words
    return " ".join([*words, *after])


def _folded(text: str) -> list[str]:
    apart = re.sub(r"\bc\s*/\s*o\b", "careof", text.casefold())
    words = (word.replace("'", "").replace("’", "") for word in _WORDS.findall(apart))
    return [_SAME_WORD.get(word, word) for word in words]
