"""layouts FILE: what each way to heat and cool a house asks for over the years."""

import json
import tomllib
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from fleet.business.pages import layouts as pages
from fleet.facts.care import care_sheet
from fleet.rules import layouts
from fleet.rules.tables import BadTable, Fault

LARGEST_FILE = 1_000_000


class Command(BaseCommand):
    """Compare the layouts of a file."""

    help = "Compare layouts (.toml) over the years: work, visits and money, by the care sheet in force."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE")
        parser.add_argument("--json", action="store_true")

    def handle(self, *args: object, **options: Any) -> None:
        sheet = care_sheet()
        if sheet is None:
            raise CommandError("No care sheet is in force; load one with load_care.")
        path = Path(options["file"])
        try:
            asked = _read(path)
        except BadTable as refused:
            raise CommandError("\n".join(f"{path.name}: {fault}" for fault in refused.faults)) from refused
        found = pages.compared(asked, sheet)
        if options["json"]:
            self.stdout.write(json.dumps(pages.as_json(found), ensure_ascii=False, indent=1))
            return
        for text in (*found.sentences, *(f"{one.name}: {one.sentence}" for one in found.columns), *pages.BESIDES):
            self.stdout.write(text)


def _read(path: Path) -> layouts.Comparison:
    try:
        if path.stat().st_size > LARGEST_FILE:
            raise ValueError(f"at most {LARGEST_FILE:,} bytes are wanted")
        return layouts.read(tomllib.loads(path.read_bytes().decode("utf-8-sig")))
    except BadTable:
        raise
    except UnicodeDecodeError as wrong:
        raise BadTable([Fault("the file", "TOML in UTF-8 is wanted")]) from wrong
    except (OSError, ValueError, RecursionError) as wrong:
        raise BadTable([Fault("the file", getattr(wrong, "strerror", None) or str(wrong))]) from wrong
