"""Who we are, as papers and mails say it; and the countries and time zones that a company may choose from."""

from dataclasses import dataclass, field

COUNTRIES = {"US": "United States", "CA": "Canada"}

# By their names in the IANA time zone database, in the order of the map from east to west; the words are what people call them.
TIME_ZONES = {
    "America/St_Johns": "Newfoundland (St. John’s)",
    "America/Puerto_Rico": "Atlantic, all year (Puerto Rico)",
    "America/Halifax": "Atlantic (Halifax)",
    "America/New_York": "Eastern (New York, Toronto)",
    "America/Chicago": "Central (Chicago, Winnipeg)",
    "America/Regina": "Central, all year (Regina)",
    "America/Denver": "Mountain (Denver, Edmonton)",
    "America/Phoenix": "Mountain, all year (Phoenix)",
    "America/Los_Angeles": "Pacific (Los Angeles, Vancouver)",
    "America/Anchorage": "Alaska (Anchorage)",
    "Pacific/Honolulu": "Hawaii (Honolulu)",
}


@dataclass(frozen=True, slots=True)
class Company:
    """Who we are: blank where nobody entered it. `address` is its lines; `logo` is a picture (PNG), or nothing."""

    name: str = ""
    address: tuple[str, ...] = ()
    phone: str = ""
    license_number: str = ""
    logo: bytes = field(default=b"", repr=False)

    def __bool__(self) -> bool:
        return bool(self.name)

    def __str__(self) -> str:
        """The company on one line.

        >>> str(Company("Birch & Fell Heating", ("12 Quay Street", "Brackwater, KY 40999"), "555-0100", "KY-77"))
        'Birch & Fell Heating, 12 Quay Street, Brackwater, KY 40999, 555-0100'
        """
        return ", ".join(filter(None, (self.name, *self.address, self.phone)))

    @property
    def below(self) -> tuple[str, ...]:
        """The lines under the name at the head of a paper: where we are, and how to reach us.

        >>> Company("Birch & Fell Heating", ("12 Quay Street",), "555-0100", "KY-77").below
        ('12 Quay Street', 'Phone 555-0100 · License KY-77')
        >>> Company("Birch & Fell Heating").below
        ()
        """
        reach = " · ".join(
            f"{word} {value}" for word, value in (("Phone", self.phone), ("License", self.license_number)) if value
        )
        where = ", ".join(self.address)
        return tuple(filter(None, (where, reach)))
