"""What importing is tested on: our company at noon of its day, somebody at the desk, and a folder for files."""

from collections.abc import Iterator
from pathlib import Path

import pytest
import time_machine

from fleet import models
from tests import company


@pytest.fixture
def media(tmp_path, settings) -> Iterator[Path]:
    """The folder that files go to."""
    settings.MEDIA_ROOT = tmp_path / "media"
    company.on_file()
    with time_machine.travel(company.NOON, tick=True):
        yield settings.MEDIA_ROOT


@pytest.fixture
def office() -> models.User:
    return company.person("office")
