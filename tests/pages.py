"""What a page says, for the tests of screens."""

from django.http import HttpResponse


def words(response: HttpResponse) -> str:
    """A page's markup with every run of space as one."""
    return " ".join(response.content.decode().split())
