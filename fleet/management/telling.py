"""What commands that list things tell in the same way."""

import json
import sys
from collections.abc import Iterable
from typing import Any

from django.core.management.base import OutputWrapper

from fleet.care.queries import due_report


def json_list(out: OutputWrapper, found: Iterable[dict[str, Any]]) -> None:
    """Write a list, one thing at a time: a large fleet's is long."""
    out.write("[", ending="")
    for number, one in enumerate(found):
        out.write(("," if number else "") + "\n" + json.dumps(one, ensure_ascii=False), ending="")
    out.write("\n]")


def end_if_unknown(err: OutputWrapper, *, customer: str, site: str) -> None:
    """End with 1, saying so, where a customer or site was asked for that is not on file."""
    if (customer or site) and not due_report.knows(customer=customer, site=site):
        err.write(f"{', '.join(filter(None, (customer, site)))}: no such customer or site is on file.")
        sys.exit(1)
