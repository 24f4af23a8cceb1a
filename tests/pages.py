"""What a page says, for the tests of screens."""

import re

from django.http import HttpResponse


def words(response: HttpResponse) -> str:
    """A page's markup with every run of space as one."""
    return " ".join(response.content.decode().split())


def read_out(response: HttpResponse) -> str:
    """What a page says without its markup."""
    return " ".join(re.sub(r"<[^>]*>", " ", response.content.decode()).split())
