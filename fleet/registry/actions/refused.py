"""Why nothing was written, for whoever sent a form."""

from collections.abc import Mapping
from typing import ClassVar


class ByField(ValueError):
    """Sentences by the field that they stand at; blank: at none of them. Nothing was changed.

    `between` stands between the sentences where they are told as one text.
    """

    between: ClassVar[str] = " "

    def __init__(self, faults: Mapping[str, str]) -> None:
        self.faults = dict(faults)
        super().__init__(self.between.join(self.faults.values()))
