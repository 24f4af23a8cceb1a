"""Photos and papers of a unit or a site, as its page shows them."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Paper:
    """One photo or paper: when it was added (written out), by whom, and how large it is.

    `serial_read`: the serial that was read from it and that whoever added it compared with the plate.
    """

    pk: int
    is_photo: bool
    name: str
    caption: str
    added: str
    by: str
    size: str
    proves_registration: bool
    serial_read: str = ""

    @property
    def words(self) -> str:
        """What it shows, as far as anybody said."""
        return self.caption or self.name


@dataclass(frozen=True, slots=True)
class Proof:
    """The payer's paper that proves a registration: a photo to be looked at, or a PDF to be saved."""

    pk: int
    name: str
    is_photo: bool


@dataclass(frozen=True, slots=True)
class Papers:
    """What is kept of one unit or site (`of`, with its key), newest first; `dropped` can be brought back."""

    of: str
    pk: int
    photos: tuple[Paper, ...]
    papers: tuple[Paper, ...]
    dropped: tuple[Paper, ...]

    @property
    def address(self) -> str:
        """The name of the address at which they stand alone, and to which more are sent."""
        return f"{self.of}_documents"


@dataclass(frozen=True, slots=True)
class Kept:
    """A file as it is handed out: its name in the media folder and the name that a download gets."""

    stored: str
    small: str
    media_type: str
    download_name: str
    is_photo: bool


def size_in_words(size: int) -> str:
    """Write how large a file is.

    >>> [size_in_words(size) for size in (900, 1_000, 84_300, 999_999, 1_250_000)]
    ['900 bytes', '1 kB', '84 kB', '1000 kB', '1.2 MB']
    """
    if size < 1_000:
        return f"{size} bytes"
    return f"{size / 1_000:.0f} kB" if size < 1_000_000 else f"{size / 1_000_000:.1f} MB"
