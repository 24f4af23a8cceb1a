"""What somebody wants a fact to be, beside what they saw of it."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Edit:
    """What a field showed when somebody began, and what they want it to be; both as text, blank for nothing."""

    was: str
    now: str

    @property
    def differs(self) -> bool:
        """Whether anything is to be different; blanks around it are nothing."""
        return self.was.strip() != self.now.strip()
