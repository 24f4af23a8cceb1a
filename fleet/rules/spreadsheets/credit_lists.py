"""A payer's own list of credits: which of our columns each of its headings most likely means, and its amounts and days as it writes them.

Only ever a proposal, which somebody confirms. The words are common practice of the trade.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal

from fleet.rules.spreadsheets import days, headings
from fleet.rules.spreadsheets.days import Order
from fleet.rules.wording.money import plain_amount

# A statement's columns, and one more: what a payer takes back stands in a column of its own with some.
DEBIT = "debit"
COLUMNS = ("reference", "number", "day", "amount", "text")
TARGETS = (*COLUMNS, DEBIT)
TITLES = {
    "reference": "Their reference",
    "number": "A serial, or our claim number",
    "day": "Day of the credit",
    "amount": "Amount credited",
    DEBIT: "Amount taken back",
    "text": "What they say about it",
}

_MEANT = {
    "reference": (
        "reference", "ref", "credit memo", "credit memo number", "memo number", "credit number", "document number", "document",
        "authorization", "authorization number", "their reference", "reference number", "payment reference", "voucher",
    ),
    "number": (
        "number", "serial", "serial number", "unit serial", "claim", "claim number", "your claim", "your claim number",
        "contractor claim number", "customer claim", "your reference", "your number", "claim id",
    ),
    "day": (
        "day", "date", "credit date", "date credited", "credited", "posted", "posting date", "date posted", "paid", "paid on",
        "paid date", "date paid", "payment date", "issue date", "issued", "document date",
    ),
    "amount": (
        "amount", "credit", "credit amount", "amount credited", "net", "net amount", "amount paid", "paid amount", "payment",
        "payment amount", "approved amount", "total credit", "credit usd", "amount usd",
    ),
    DEBIT: ("debit", "debit amount", "charge", "chargeback", "charge back", "taken back", "reversal", "deduction"),
    "text": ("text", "description", "details", "comment", "comments", "remark", "remarks", "notes", "note", "explanation", "memo"),
}  # fmt: skip
_BARE = re.compile(r"[^\W_]+")
_NUMBER_WORDS = {
    "no": "number",
    "num": "number",
    "nbr": "number",
    "nr": "number",
    "amt": "amount",
    "dt": "date",
    "desc": "description",
}
_NEGATIVE = re.compile(r"\((?P<bracketed>.*)\)|(?P<behind>.*[0-9])\s*[-−]|(?P<debit>.*[0-9])\s*DR", re.IGNORECASE)
_CREDIT = re.compile(r"(.*[0-9])\s*(?:CR|USD)", re.IGNORECASE)
_EXACT = re.compile(r"-?[0-9]{1,7}(?:\.[0-9]{1,2}0*)?")


def _said(heading: str) -> str:
    words = _BARE.findall(heading.casefold().replace("#", " number "))
    return " ".join(_NUMBER_WORDS.get(word, word) for word in words)


_BY_WORDS = {_said(text): name for name, many in _MEANT.items() for text in many}


def suggest(theirs: Iterable[str], known: Mapping[str, str]) -> dict[str, str]:
    """Our column for each heading that most likely means one, each at most once; what was said before (`known`, folded) comes first.

    >>> suggest(["Credit Memo #", "Posted", "Credit Amt", "Serial No.", "Branch"], {})
    {'Credit Memo #': 'reference', 'Posted': 'day', 'Credit Amt': 'amount', 'Serial No.': 'number'}
    """
    theirs = list(theirs)
    said_before = {heading: known.get(headings.fold(heading), "") for heading in theirs}
    by_words = {heading: _BY_WORDS.get(_said(heading), "") for heading in theirs}
    columns: dict[str, str] = {}
    for found in (said_before, by_words):
        for heading, name in found.items():
            if name in TARGETS and heading not in columns and name not in columns.values():
                columns[heading] = name
    return columns


def amount(cell: str) -> str | None:
    """An amount as payers write it, as a plain number of dollars; None where it is none.

    What is in brackets, or has a minus or DR behind it, takes money back.

    >>> [amount(one) for one in ("$1,412.50", "(35.00)", "20.00-", "12 CR", "1.412,50", "n/a")]
    ['1412.50', '-35.00', '-20.00', '12', None, None]
    """
    text = cell.strip()
    if found := _CREDIT.fullmatch(text):
        text = found[1]
    if found := _NEGATIVE.fullmatch(text):
        plain = plain_amount(next(part for part in found.groups() if part is not None)).replace("−", "-")
        return f"-{plain}" if _EXACT.fullmatch(plain) and not plain.startswith("-") else None
    plain = plain_amount(text)
    return plain if _EXACT.fullmatch(plain) else None


def credited(amount_cell: str, debit_cell: str) -> str | None:
    """What a row credits, where a payer may have what it takes back in a column of its own; None where neither or both say an amount.

    >>> credited("", "35.00"), credited("12.50", ""), credited("12.50", "0.00"), credited("12.50", "35.00")
    ('-35.00', '12.50', '12.50', None)
    """
    plus = amount(amount_cell) if amount_cell.strip() else None
    minus = amount(debit_cell) if debit_cell.strip() else None
    if (amount_cell.strip() and plus is None) or (debit_cell.strip() and minus is None):
        return None
    if minus is None or (plus is not None and Decimal(minus) == 0):
        return plus
    if plus is not None and Decimal(plus) != 0:
        return None
    return minus if minus.startswith("-") else f"-{minus}"


def order_of(cells: Sequence[str]) -> Order | None:
    """The order in which a column's days are certainly written; None where no cell says so, or two say otherwise."""
    orders = {order for cell in cells if (order := days.tells_order(cell)) is not None}
    return orders.pop() if len(orders) == 1 else None


def is_open(cells: Sequence[str]) -> bool:
    """Whether a person must say in which order a column's days are written: some could be two days, and none says which."""
    return order_of(cells) is None and any(days.is_ambiguous(cell) for cell in cells)
