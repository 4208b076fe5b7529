"""Numbers said in words, as a telephone or a dictation writes them down.

"Seven eighty eight" may be 788 or 7 and 88; both readings are kept, the likelier one first.

Example:
    >>> read_spoken("seven eighty eight by seventeen point five".split())
    ((('788', 'by', '17.5'), 1.0), (('7', '88', 'by', '17.5'), 0.97))
"""

from collections.abc import Iterator, Sequence
from itertools import product

_SMALL_TEXT = """
    zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen
    seventeen eighteen nineteen
"""
_TENS_TEXT = "twenty thirty forty fifty sixty seventy eighty ninety"
_SMALL = {word: value for value, word in enumerate(_SMALL_TEXT.split())} | {"oh": 0, "nought": 0}
_TENS = {word: 10 * value for value, word in enumerate(_TENS_TEXT.split(), start=2)} | {"fourty": 40}
_SCALES = frozenset({"hundred", "thousand"})
NUMBER_WORDS = frozenset(_SMALL) | frozenset(_TENS) | _SCALES | {"point", "half"}
_NOT_NUMBERS_BEFORE = frozenset({"way", "piece"})  # "one way clutch", "one piece"
_MAX_READINGS = 4
SECOND_READING_FACTOR = 0.97

Item = str
Reading = tuple[str, ...]


def _read_below_hundred(words: Sequence[str], at: int) -> tuple[int, int] | None:
    """Value and next place of a number below a hundred, or None."""
    if at < len(words) and words[at] in _TENS:
        value, at = _TENS[words[at]], at + 1
        if at < len(words) and 1 <= _SMALL.get(words[at], 0) <= 9:
            return value + _SMALL[words[at]], at + 1
        return value, at
    if at < len(words) and words[at] in _SMALL:
        return _SMALL[words[at]], at + 1
    return None


def _skip_and(words: Sequence[str], at: int) -> int:
    return at + 1 if at < len(words) and words[at] == "and" else at


def _is_scale(words: Sequence[str], at: int) -> bool:
    return at < len(words) and words[at] in _SCALES


def _read_below_thousand(words: Sequence[str], at: int) -> tuple[int, int] | None:
    """Value and next place of a number with or without hundreds ("eighteen hundred" too), or None."""
    first = _read_below_hundred(words, at)
    if first is None or first[1] >= len(words) or words[first[1]] != "hundred":
        return first
    value, at = 100 * first[0], first[1] + 1
    rest = _read_below_hundred(words, _skip_and(words, at))
    if rest is None or _is_scale(words, rest[1]):
        return value, at
    return value + rest[0], rest[1]


def _read_whole(words: Sequence[str], at: int) -> tuple[int, int] | None:
    """Value and next place of a whole number with hundreds and thousands, or None."""
    first = _read_below_thousand(words, at)
    if first is None or first[1] >= len(words) or words[first[1]] != "thousand":
        return first
    value, at = 1000 * first[0], first[1] + 1
    rest = _read_below_thousand(words, _skip_and(words, at))
    if rest is None or _is_scale(words, rest[1]):
        return value, at
    return value + rest[0], rest[1]


def _read_fraction(words: Sequence[str], at: int) -> tuple[str, int]:
    """What follows the whole number: "point five", "and a half", or nothing."""
    if at < len(words) and words[at] == "point":
        end = at + 1
        while end < len(words) and 0 <= _SMALL.get(words[end], -1) <= 9 and end - at <= 3:
            end += 1
        if end > at + 1:
            return "." + "".join(str(_SMALL[word]) for word in words[at + 1 : end]), end
    for ending in (("and", "a", "half"), ("and", "half"), ("a", "half")):
        if tuple(words[at : at + len(ending)]) == ending:
            return ".5", at + len(ending)
    return "", at


def _read_item(words: Sequence[str], at: int) -> tuple[str, int] | None:
    whole = _read_whole(words, at)
    if whole is None or (whole[1] < len(words) and words[whole[1]] in _NOT_NUMBERS_BEFORE):
        return None
    fraction, end = _read_fraction(words, whole[1])
    return f"{whole[0]}{fraction}", end


def _read_run(items: Reading) -> tuple[Reading, ...]:
    """All readings of numbers said one after the other, the likeliest first."""
    joined: list[str] = []
    for item in items:
        before = joined[-1] if joined else ""
        if len(before) == 1 and before != "0" and len(item.partition(".")[0]) == 2:
            joined[-1] = before + item
        else:
            joined.append(item)
    readings = [tuple(joined), items]
    if len(items) >= 2 and all(len(item) == 1 for item in items):
        readings.insert(0, ("".join(items)[:6],))
    elif len(items) == 2 and len(items[0]) == 2 and len(items[1].partition(".")[0]) == 2:
        readings.append(("".join(items),))
    elif len(items) == 3 and len(items[0]) == 2 and items[1] == "0" and len(items[2]) == 1:
        readings.insert(0, ("".join(items),))  # sixty two oh three: a designation of four figures
    parted = tuple(part for item in items for part in _part_tens(item))
    if len(items) >= 2 and len(items[0]) >= 2 and parted != items:
        readings.append(parted)
    return tuple(dict.fromkeys(readings))


def _part_tens(item: str) -> tuple[str, ...]:
    """Tens and ones apart: "seventeen thirty six" may be 17, 30 and 6."""
    if len(item) != 2 or not item.isdigit() or item < "21" or item[1] == "0":
        return (item,)
    return (item[0] + "0", item[1])


def _split_runs(words: Sequence[str]) -> Iterator[tuple[Reading, ...]]:
    """Readings of each stretch: a word that is no number has one reading, itself."""
    at = 0
    run: list[str] = []
    while at < len(words):
        item = _read_item(words, at) if words[at] in NUMBER_WORDS else None
        if item is not None:
            run.append(item[0])
            at = item[1]
            continue
        if run:
            yield _read_run(tuple(run))
            run = []
        yield ((words[at],),)
        at += 1
    if run:
        yield _read_run(tuple(run))


def read_spoken(words: Sequence[str]) -> tuple[tuple[Reading, float], ...]:
    """Readings of a question whose numbers may be words, each with its factor, at most four.

    Example:
        >>> read_spoken(["nine", "hundred", "and", "forty", "one"])
        ((('941',), 1.0),)
        >>> read_spoken(["sixty", "one", "and", "a", "half", "thirteen"])
        ((('61.5', '13'), 1.0),)
    """
    runs = list(_split_runs(words))
    open_runs = [index for index, run in enumerate(runs) if len(run) > 1]
    for index in open_runs[2:]:
        runs[index] = runs[index][:1]
    readings = []
    for choice in list(product(*runs))[:_MAX_READINGS]:
        changed = sum(part != run[0] for part, run in zip(choice, runs, strict=True))
        words_read = tuple(word for part in choice for word in part)
        readings.append((words_read, SECOND_READING_FACTOR**changed))
    return tuple(readings)
