"""Headings of other people's spreadsheets: which row they are in, and which of our columns each most likely means.

Only ever a proposal, which somebody confirms. The words are common practice of the trade.
"""

import hashlib
import re
import unicodedata
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from fleet.rules.spreadsheets import days, equipment, people, places

# What a column may mean besides one of ours: an address in one cell, one of a person's two names, and a fact that we have no
# column for and that goes to the notes, with its heading before it.
ADDRESS, FIRST_NAME, LAST_NAME, NOTE = "address", "first name", "last name", "note"

# The column in which a file that comes back says what is wrong; it is never read.
WRONG = "What is wrong"

_TITLES = {
    ADDRESS: "Whole address in one cell", NOTE: "Put in the notes", "email": "Email", "region": "State", "postcode": "ZIP code",
    "role": "Kind of unit", "maker": "Manufacturer", "use": "Use of the house", "new_construction": "New house",
    "started_on": "Started up on", "installer": "Technician who installed it", "plate_charge_oz": "Nameplate charge (oz)",
    "plate_amps": "Nameplate amps", "attached": "Other terms bought",
}  # fmt: skip


def title(column: str) -> str:
    """One of our columns as people call it.

    >>> title("installed_on"), title("postcode")
    ('Installed on', 'ZIP code')
    """
    return _TITLES.get(column, column.replace("_", " ").capitalize())


_WORDS = {
    "acct": "customer", "account": "customer", "client": "customer", "cust": "customer", "homeowner": "customer",
    "owner": "customer", "addr": "address", "adress": "address", "tel": "phone", "telephone": "phone", "ph": "phone",
    "cell": "phone", "mobile": "phone", "mail": "email", "postal": "zip", "postcode": "zip", "post": "zip", "town": "city",
    "province": "state", "region": "state", "st": "state", "ser": "serial", "sn": "serial", "mod": "model", "mdl": "model",
    "mfr": "maker", "mfg": "maker", "mfgr": "maker", "manuf": "maker", "make": "maker", "brand": "maker",
    "manufacturer": "maker", "manufacture": "manufactured", "mfd": "manufactured", "made": "manufactured",
    "inst": "installed", "install": "installed", "installation": "installed", "started": "start", "startup": "start",
    "commissioned": "start", "commissioning": "start", "purchased": "purchase", "bought": "purchase", "sold": "purchase",
    "reg": "registered", "registration": "registered", "regist": "registered", "dt": "date",
    "day": "date", "sys": "system", "loc": "location", "comment": "notes", "comments": "notes", "remark": "notes",
    "remarks": "notes", "note": "notes", "memo": "notes", "closing": "closed", "tech": "technician", "refrig": "refrigerant",
    "freon": "refrigerant", "gas": "refrigerant", "qty": "quantity", "occupancy": "use", "property": "site",
    "contractor": "installer", "confirmation": "number", "confirm": "number", "conf": "number", "amperage": "amps",
}  # fmt: skip
_NOISE = frozenset(
    ("the", "of", "a", "on", "for", "s", "is", "if", "known", "equipment", "equip", "hvac", "job", "service")
)
# Said of a number, and of nothing else where another word stands beside it.
_NUMBER = frozenset(("no", "num", "nbr", "number", "id"))

_MEANT: dict[str, tuple[str, ...]] = {
    "customer": ("customer", "customer name", "name", "full name", "bill to", "bill to name", "site name customer"),
    FIRST_NAME: ("first", "first name", "customer first name", "first name customer", "given name", "fname"),
    LAST_NAME: ("last", "last name", "customer last name", "surname", "family name", "lname"),
    "phone": ("phone", "customer phone", "phone home", "home phone", "phone 1"),
    "email": ("email", "e email", "email address", "customer email"),
    "site": ("site", "site name", "location name", "place", "house", "building"),
    "street": ("address", "street", "street address", "site address", "address 1", "address line 1", "line 1", "house address"),
    "city": ("city", "site city", "city name"),
    "region": ("state", "site state", "state code", "abbreviation state"),
    "postcode": ("zip", "zip code", "site zip", "zip address", "zip 5"),
    "use": ("use", "site type", "use house", "site use"),
    "new_construction": ("new construction", "new house", "new build", "new home"),
    "closed_on": ("closed", "closed date", "date closed"),
    "drive_minutes": ("drive minutes", "drive time", "drive", "minutes drive"),
    "system": ("system", "system name"),
    "role": ("type", "unit type", "kind", "kind unit", "unit kind", "unit", "component type", "role", "description", "item", "what"),
    "style": ("style", "head style", "head type", "mounting", "mount", "style head", "indoor type"),
    "room": ("room", "location", "room name", "zone", "area", "where", "unit location", "head location", "room location"),
    "maker": ("maker", "maker name"),
    "model": ("model", "unit model"),
    "serial": ("serial", "unit serial"),
    "purchased_on": ("purchase", "purchase date", "invoice date"),
    "installed_on": ("installed", "installed date", "date", "date in", "put in"),
    "started_on": ("start", "start date", "start up", "start up date"),
    "manufactured_on": ("manufactured", "manufactured date", "maker date", "date code", "built", "build date"),
    "installed_by": ("installed by", "installer", "installer company", "installed company", "company"),
    "installer": ("technician", "installed technician", "lead", "lead technician", "crew", "lead installer"),
    "registered_on": ("registered", "registered date", "date registered"),
    "registration_number": ("registered number", "registered confirmation", "number registered"),
    "registration_accepted_late": ("registered accepted late", "accepted late"),
    "recognized_installer": ("recognized installer", "recognized"),
    "licensed_installer": ("licensed installer", "licensed"),
    "matched_system": ("matched system", "matched"),
    "original_site": ("original site", "original"),
    "drain": ("drain", "drain line", "drains to"),
    "surroundings": ("surroundings", "pets", "environment"),
    "access": ("access", "access unit"),
    "refrigerant": ("refrigerant", "refrigerant type", "type refrigerant"),
    "plate_charge_oz": ("plate charge oz", "charge oz", "factory charge oz"),
    "plate_amps": ("plate amps", "amps", "rla", "mca"),
    "filter_size": ("filter size", "filter", "filters", "size filter"),
    "attached": ("attached", "labor plan", "plan"),
    "notes": ("notes", "customer notes", "office notes", "unit notes"),
    # history
    "day": ("date", "service date", "date done", "visit date", "work date"),
    "kind": ("kind", "what happened", "event", "type work", "work type", "type"),
    "component": ("component", "failed part", "part failed", "part"),
    "cause": ("cause", "cause failure"),
    "task": ("task", "work done", "work"),
    "part_number": ("part number", "old part number"),
    "new_part_number": ("new part number",),
    "repaired_on": ("repaired", "repaired date", "date repaired", "repair date"),
    "part_taken_on": ("part taken", "part taken date"),
    "technician": ("technician", "serviced by", "done by"),
    "reference": ("invoice", "invoice number", "ticket", "ticket number", "work order", "order number", "reference", "ref", "number"),
    "labor_minutes": ("minutes", "labor minutes", "labor"),
    "parts_cost": ("parts cost", "cost parts", "parts price"),
    "new_serial": ("new serial",),
    "new_model": ("new model",),
    "under_warranty": ("under warranty", "warranty"),
    "still_matched": ("still matched", "system still matched"),
    # agreements
    "start_on": ("start", "start date", "agreement start", "begins", "start agreement"),
    "months": ("months", "term", "term months"),
    "visits_per_year": ("visits per year", "visits", "visits year"),
    "first_head": ("first head", "first head price", "price first head"),
    "further_head": ("further head", "additional head", "each additional head", "further head price"),
    "discount_percent": ("discount", "discount percent"),
    "billing": ("billing", "billed"),
    "renews": ("renews", "renewal"),
    "rise_percent": ("rise", "rise percent", "yearly increase"),
}  # fmt: skip


def words_of(heading: str) -> frozenset[str]:
    """What a heading says, word by word, each by one word of its meaning.

    >>> sorted(words_of("Ser #")), sorted(words_of("Date of Install. (m/d/y)")), sorted(words_of("s/n"))
    (['serial'], ['date', 'installed'], ['serial'])
    """
    text = unicodedata.normalize("NFC", heading).casefold().replace("_", " ")
    text = re.sub(r"\(.*?\)", " ", re.sub(r"\bs\s*/\s*n\b|\bs\.n\.", "serial", re.sub(r"\bm\s*/\s*n\b", "model", text)))
    bare = [word for word in re.findall(r"[^\W_]+", re.sub(r"\be[\s\-]mail", "email", text)) if word not in _NOISE]
    said = [_WORDS.get(word, word) for word in bare]
    return frozenset(word for word in said if word not in _NUMBER) or frozenset(said)


_BY_WORDS: dict[str, dict[frozenset[str], None]] = {
    name: dict.fromkeys(words_of(meant) for meant in many) for name, many in _MEANT.items()
}
# Where a number is what tells them apart: of a registration, "Reg date" is the day and "Reg #" the number; "Unit #" is no kind.
_NUMBERED = {frozenset(("registered",)): "registration_number", frozenset(("unit",)): ""}


def fold(heading: str) -> str:
    """A heading folded to its letters and digits, by which it is remembered.

    >>> fold("  Date_Installed "), fold("Serial #"), fold("N°")
    ('dateinstalled', 'serial', 'n')
    """
    return re.sub(r"[\W_]+", "", unicodedata.normalize("NFC", heading).casefold())


def digest(headings: Iterable[str]) -> str:
    """A row of headings, whatever the order of its columns, folded to what it is remembered by."""
    folded = sorted(fold(heading) for heading in headings if heading != WRONG)
    return hashlib.sha256("\n".join(folded).encode()).hexdigest()


def meant(heading: str, ours: Collection[str]) -> str:
    """Our column that a heading most likely means, by its words; blank for none.

    >>> ours = ("serial", "model", "installed_on", "postcode", "registration_number", "registered_on")
    >>> [meant(heading, ours) for heading in ("Ser #", "Model No.", "Installed", "Zip", "Reg #", "Reg. date", "Truck")]
    ['serial', 'model', 'installed_on', 'postcode', 'registration_number', 'registered_on', '']
    """
    known = {fold(name): name for name in ours}
    if fold(heading) in known:
        return known[fold(heading)]
    said = words_of(heading)
    if said in _NUMBERED and re.search(r"#|\b(?:no|num|number|id|conf\w*)\b", heading, re.IGNORECASE):
        return _NUMBERED[said] if _NUMBERED[said] in ours else ""
    return next((name for name, many in _BY_WORDS.items() if said in many and name in ours), "")


def suggest(
    headings: Sequence[str],
    samples: Mapping[str, Sequence[str]],
    ours: Collection[str],
    known: Mapping[str, str],
) -> dict[str, str]:
    """Our column for each heading that most likely means one; each of ours at most once.

    What was said of a heading before (`known`, by folded heading) comes first, then its words, then what stands in it.
    """
    columns: dict[str, str] = {}

    def propose(heading: str, name: str) -> None:
        if heading not in columns and name in ours and (name == NOTE or name not in columns.values()):
            columns[heading] = name

    for heading in headings:
        propose(heading, known.get(fold(heading), ""))
    for heading in headings:
        name = meant(heading, ours)
        if name in ("street", "room", "site") and ADDRESS in ours and _are_addresses(samples.get(heading, ())):
            name = ADDRESS
        propose(heading, name)
    for heading in headings:
        propose(heading, by_content(samples.get(heading, ())))
    return columns


def by_content(cells: Sequence[str]) -> str:
    """Our column that most likely has these cells, for a heading that says nothing; blank where none is alike.

    >>> by_content(["ann@ibarra.example", "r@dunmore.example"]), by_content(["ODU", "Wall head"]), by_content(["blue", "red"])
    ('email', 'role', '')
    """
    if not cells:
        return ""
    for name, reads in _BY_CONTENT.items():
        if all(reads(cell) for cell in cells):
            return name
    return ADDRESS if _are_addresses(cells) else ""


def _is_phone(cell: str) -> bool:
    return people.phone(cell) is not None and len(re.findall("[0-9]", cell)) >= 10


def _is_kind(cell: str) -> bool:
    kind = equipment.kind(cell)
    return kind is not None and kind.is_sure


_BY_CONTENT: dict[str, Callable[[str], object]] = {
    "email": people.email,
    "phone": _is_phone,
    "region": places.region,
    "role": _is_kind,
}


def _are_addresses(cells: Sequence[str]) -> bool:
    apart = [places.take_apart(cell) for cell in cells]
    whole = [one for one in apart if one.street and one.city and (one.region or one.postcode)]
    return bool(cells) and 2 * len(whole) > len(cells)


@dataclass(frozen=True, slots=True)
class HeaderRow:
    """Which line of a sheet names its columns, and whether its words say so."""

    place: int
    is_sure: bool


# A line is a title if it fills less than this part of what the fullest of those lines fills.
_TITLE_FILLS = 3


def header_row(lines: Sequence[Sequence[str]]) -> HeaderRow:
    """Which of a sheet's first lines names its columns: the one of whose cells we know the most, else the first full one.

    >>> header_row([["Unit list 2024"], [], ["Cust.", "Ser #", "Model"], ["Ann Ibarra", "S1", "HC36"]])
    HeaderRow(place=2, is_sure=True)
    >>> header_row([["a", "b"], ["c", "d"]])
    HeaderRow(place=0, is_sure=False)
    """
    filled = [sum(1 for cell in line if cell.strip()) for line in lines]
    most = max(filled, default=0)
    full = [place for place, count in enumerate(filled) if count and count * _TITLE_FILLS >= most]
    if not full:
        return HeaderRow(0, is_sure=False)
    score = {place: _known_headings(lines[place]) for place in full}
    best = max(full, key=lambda place: (score[place], -place))
    is_sure = score[best] >= min(2, most)
    return HeaderRow(best if is_sure else full[0], is_sure)


def _known_headings(line: Iterable[str]) -> int:
    cells = [cell for cell in line if cell.strip() and len(cell) <= 40 and not days.readings(cell)]
    return len({name for name in (meant(cell, _MEANT) for cell in cells) if name})


def is_header_again(cells: Mapping[str, str]) -> bool:
    """Whether a row says the headings again, as the top of a printed page does: its cells by their headings.

    >>> is_header_again({"Name": "NAME", "Ser #": "ser #", "": ""}), is_header_again({"Name": "Name", "Ser #": "S1"})
    (True, False)
    """
    filled = {heading: cell for heading, cell in cells.items() if cell}
    again = sum(fold(heading) == fold(cell) for heading, cell in filled.items())
    # A page number or a date may stand beside them.
    return bool(filled) and (again == len(filled) or (again >= 3 and again * 3 >= len(filled) * 2))


_TOTALS = frozenset(
    ("total", "totals", "grandtotal", "subtotal", "subtotals", "sum", "count", "totalunits", "unitstotal", "endoflist")
)
_MOST_OF_A_TOTAL = 4


def is_total(cells: Mapping[str, str]) -> bool:
    """Whether a row adds up those above it: one of its few cells says so, the others are numbers.

    >>> is_total({"Name": "TOTAL", "Ser #": "293"}), is_total({"Name": "Total: 293 units"}), is_total({"Name": "Total Comfort", "Ser #": "S1"})
    (True, True, False)
    """
    filled = [cell for cell in cells.values() if cell]
    if not 0 < len(filled) <= _MOST_OF_A_TOTAL:
        return False
    says_so = [cell for cell in filled if re.sub(r"[\W\d_]+|units|heads|rows|systems", "", cell.casefold()) in _TOTALS]
    rest = [cell for cell in filled if cell not in says_so]
    return bool(says_so) and all(re.fullmatch(r"[$\d.,%\s]+(?:units|heads|rows|systems)?", cell) for cell in rest)
