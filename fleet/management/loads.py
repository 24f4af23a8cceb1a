"""What the commands that load a file have in common: their arguments, and how they say what became of it."""

import sys
from collections.abc import Callable, Mapping
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from fleet import clock
from fleet.loading.loading import Report
from fleet.sheets import BadFile


def add_arguments(parser: CommandParser) -> None:
    """Add the file, and how it is to be taken."""
    parser.add_argument("file", metavar="FILE")
    parser.add_argument("--check", action="store_true", help="say what would come of it, and take nothing")
    parser.add_argument(
        "--correct", action="store_true", help="where the file contradicts what is on file, take the file's word"
    )


def run(command: BaseCommand, load: Callable[..., Report], things: str, options: Mapping[str, Any]) -> None:
    """Load the file and say what came of it; say each problem in a line if it is refused."""
    try:
        report = load(options["file"], by=None, on=clock.today(), correct=options["correct"], check=options["check"])
    except BadFile as refused:
        for line in refused.lines():
            command.stderr.write(line)
        sys.exit(1)
    command.stdout.write(
        f"{report.rows:,} rows read: {report.added:,} {things} added, {report.filled:,} blanks filled,"
        f" {report.corrected:,} facts corrected, {report.unchanged:,} rows brought nothing new."
        + (" Nothing was taken: this was a check." if options["check"] else "")
    )
