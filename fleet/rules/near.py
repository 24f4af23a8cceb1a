"""Near misses: what was meant where a name or serial was heard, read or typed a little wrong.

Texts are folded (`rules.lookalike`), so that look-alike characters, case and accents are no misses at all.
"""

from collections.abc import Iterator

# A shorter piece no index of trigrams can find.
_PIECE = 3
# Nobody misspells a longer word, and the ways to be off by two grow with its square.
_LONGEST = 40


def allowed(word: str) -> int:
    """How many edits a word may be off by: a short one none, or everything would be near, and one longer than any name none.

    >>> allowed("lee"), allowed("quist"), allowed("petrov"), allowed("04240"), allowed("2075550134")
    (0, 1, 2, 0, 1)
    """
    if len(word) > _LONGEST:
        return 0
    if word.isdecimal():  # each digit of a number counts, so only a long one may have one wrong
        return 1 if len(word) >= 7 else 0
    return 0 if len(word) < 4 else 1 if len(word) < 6 else 2


def edits(one: str, other: str, most: int) -> int:
    """The least number of letters put in, left out, changed or swapped with the next that make one of the other.

    No letter is touched twice. Beyond `most` it is not worked out: any more is `most` + 1.

    >>> edits("petrof", "petrov", 2), edits("pertov", "petrov", 2), edits("petroff", "petrov", 2), edits("quist", "petrov", 2)
    (1, 1, 2, 3)
    """
    if abs(len(one) - len(other)) > most:
        return most + 1
    before: list[int] = []
    above = list(range(len(other) + 1))
    for row, letter in enumerate(one, 1):
        line = [row]
        for column, against in enumerate(other, 1):
            least = min(above[column] + 1, line[column - 1] + 1, above[column - 1] + (letter != against))
            swapped = row > 1 and column > 1 and letter == other[column - 2] and one[row - 2] == against
            if swapped:
                least = min(least, before[column - 2] + 1)
            line.append(least)
        if min(line) > most and min(above) > most:
            return most + 1
        before, above = above, line
    return min(above[-1], most + 1)


def left_alone(word: str) -> tuple[tuple[str, ...], ...]:
    """Pieces of three letters or more that are still right when a word is off by what is `allowed`: one set for each way.

    A text that is near the word has every piece of at least one set in it, but for two edits that leave no half of it whole,
    or of which one is a swap.
    A swap in the middle of a short word leaves no piece, so the words with two letters swapped are sets of their own.

    >>> ("trov",) in left_alone("petrov"), ("petrov",) in left_alone("pertov"), left_alone("lee")
    (True, True, ())
    """
    return tuple(dict.fromkeys(_left_alone(word))) if allowed(word) else ()


def _left_alone(word: str) -> Iterator[tuple[str, ...]]:
    length = len(word)
    for at in range(length - 1):
        yield (word[:at] + word[at + 1] + word[at] + word[at + 2 :],)
    cuts = [(at, at) for at in range(length)] + [(at, at + 1) for at in range(length - 1)]
    if allowed(word) > 1:
        cuts += [(at, then) for at in range(length) for then in range(at + 2, length)]
    for at, then in cuts:
        pieces = [piece for piece in (word[:at], word[at + 1 : then], word[then + 1 :]) if len(piece) >= _PIECE]
        is_one = then - at < 2
        if pieces and (is_one or max(map(len, pieces)) >= length // 2):
            yield tuple(sorted(pieces, key=len, reverse=True))
