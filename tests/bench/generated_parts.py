"""Parts of an invented supplier's list, any number of them, and questions about them; always the same."""

import csv
import random
from collections.abc import Iterator
from pathlib import Path

_KINDS = (
    ("drive_belt", ("drive belt", "transmission belt", "cvt belt", "v-belt", "variator belt")),
    ("roller_set", ("roller weights", "variator rollers", "roller set", "weight rollers")),
    ("oil_seal", ("oil seal", "shaft seal", "radial shaft seal")),
    ("clutch_spring", ("clutch springs", "shoe springs", "clutch spring set")),
    ("contra_spring", ("contra spring", "torque spring", "rear pulley spring")),
    ("other", ("brake cable", "brake wire", "throttle cable", "speedometer cable")),
    ("other", ("brake disc", "brake rotor", "fuel hose", "petrol pipe")),
    ("nut", ("flange nut", "pulley nut", "variator nut")),
)
_STARTS = ("Bel", "Tar", "Os", "Hal", "Fjor", "Ked", "Lun", "Mer", "Pul", "Sed", "Ving", "Wol")
_ENDS = ("una", "nvik", "trano", "voro", "dane", "lock", "vane", "rava", "mont", "stad")
_EXTRAS = ("rear", "front", "boxed", "reinforced", "pair", "new", "racing", "standard", "")
_COLOURS = ("red", "blue", "yellow", "white", "black")


def _make_roller(chance: random.Random) -> str:
    size = chance.choice(("15x12", "16x13", "17x12", "18x14", "19x15.5", "20x15", "21x17"))
    return f"{size} {chance.randint(8, 60) / 2:g} g"


def _make_seal(chance: random.Random) -> str:
    bore = chance.randint(10, 35)
    return f"{bore}x{bore + chance.randint(8, 20)}x{chance.randint(4, 10)}"


def _make_belt(chance: random.Random) -> str:
    return f"{chance.randint(620, 990)}x{chance.randint(30, 60) / 2:g}x{chance.choice((28, 30, 32, 34))}"


def _make_nut(chance: random.Random) -> str:
    pitch = chance.choice(("1", "1.25", "1.5"))
    return f"M{chance.choice((10, 12, 14, 16))}x{pitch} {chance.randint(17, 24)} mm"


_MAKERS_OF_SIZES = {
    "belt": _make_belt,
    "roller": _make_roller,
    "seal": _make_seal,
    "spring": lambda chance: f"{chance.randrange(800, 2100, 50)} rpm {chance.choice(_COLOURS)}",
    "cable": lambda chance: f"{chance.randrange(800, 2200, 5)} mm",
    "nut": _make_nut,
}


def _make_sizes(chance: random.Random, name: str) -> str:
    for word, make in _MAKERS_OF_SIZES.items():
        if word in name:
            return make(chance)
    return f"{chance.randint(155, 245)}x{chance.randint(48, 64)}x{chance.choice((3, 3.5, 4))}"


def make_parts(count: int, *, seed: int = 7) -> Iterator[tuple[str, str, str, str]]:
    """Maker, part number, part type and description of so many parts."""
    chance = random.Random(seed)
    makers = [start + end for start in _STARTS for end in _ENDS]
    codes = [f"{a}{b}{n}{c}" for a in "HNPT" for b in "RGK" for n in (50, 110, 125, 150) for c in "FJKT"]
    taken: set[str] = set()
    while len(taken) < count:
        maker = chance.choice(makers)
        number = f"{maker[:2].upper()}{chance.randint(10, 99)}-{chance.randint(10_000, 9_999_999)}"
        if number in taken:
            continue
        taken.add(number)
        part_type, names = chance.choice(_KINDS)
        name = chance.choice(names)
        code = chance.choice(codes) if chance.random() < 0.5 else ""
        words = (name, _make_sizes(chance, name), code, chance.choice(_EXTRAS))
        yield maker, number, part_type, " ".join(filter(None, words))


def write_catalogue(folder: Path, count: int) -> None:
    """A catalogue folder with so many parts."""
    folder.mkdir(parents=True, exist_ok=True)
    with (folder / "parts.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(("maker", "part_number", "part_type", "description"))
        writer.writerows(make_parts(count))


def _misspell(chance: random.Random, text: str) -> str:
    words = text.split()
    places = [at for at, word in enumerate(words) if word.isalpha() and len(word) > 4]
    if places:
        at = chance.choice(places)
        cut = chance.randrange(1, len(words[at]) - 1)
        words[at] = words[at][:cut] + words[at][cut + 1 :]
    return " ".join(words)


def make_questions(rows: list[tuple[str, str, str, str]], *, seed: int = 11) -> list[tuple[str, str]]:
    """Kind and text of questions: one of each kind for each row, in turn."""
    chance = random.Random(seed)
    questions = []
    for at, (maker, number, _, description) in enumerate(rows):
        words = description.split()
        key = number.replace("-", "")
        cut = chance.randrange(2, len(key) - 1)
        kinds = (
            ("wording", f"{description} {maker}"),
            ("misspelt", _misspell(chance, description)),
            ("other order", " ".join([*words[2:], *words[:2]])),
            ("number", number),
            ("number, no marks", key.lower()),
            ("number, one wrong", key[:cut] + chance.choice("3579") + key[cut + 1 :]),
            ("number, beginning", number[:-2]),
            ("number, look-alike", key.replace("0", "O").replace("1", "I")),
        )
        questions.append(kinds[at % len(kinds)])
    return questions
