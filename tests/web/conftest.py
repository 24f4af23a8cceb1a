"""Every test of a page is asked on the same day."""

from collections.abc import Iterator

import pytest
import time_machine

from tests import company


@pytest.fixture(autouse=True)
def noon() -> Iterator[None]:
    with time_machine.travel(company.NOON, tick=True):
        yield
