"""Who signed a write-up, or why nobody did."""

# What a form, a page and a paper say of each reason.
UNSIGNED = {
    "nobody there": "nobody there to sign",
    "declined": "the customer did not want to sign",
    "on paper": "signed on paper",
}


def signed(name: str, unsigned: str) -> str:
    """Who signed, or why nobody did, as a sentence without its period.

    >>> signed("Odile Marsh", ""), signed("", "nobody there"), signed("", "on paper")
    ('Signed by Odile Marsh', 'Not signed: nobody there to sign', 'Signed on paper')
    """
    if name:
        return f"Signed by {name}"
    words = UNSIGNED.get(unsigned, unsigned)
    return words.capitalize() if unsigned == "on paper" else f"Not signed: {words}"
