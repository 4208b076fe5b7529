"""How long a question and a row take to be read.

Run from the root of the repository: ``python tests/bench/bench_look_up.py``. Processor time, so that other
work on the machine counts little. Hard questions are 200 characters of misspelt words, number words, sizes
or random letters. The vocabulary is that of the 400 rows in ``tests/kb/rules/match``; more runs add
invented words, up to 2,000 searched by scan, above by deletions.
"""

import csv
import random
import statistics
import string
import time
from collections import Counter
from collections.abc import Callable, Iterable
from functools import partial
from pathlib import Path

from kb.rules.match.analyser import Analyser
from kb.rules.match.tokens import RowText, Vocabulary, collect_vocabulary
from kb.rules.match.trade import build_trade_analyser
from kb.standards.trade_words import list_trade_words

DATA = Path(__file__).parents[1] / "kb" / "rules" / "match"
TARGET_QUESTION_MS = 0.5
TARGET_WORST_MS = 5.0
TARGET_ROW_US = 60.0


def read_rows(name: str) -> list[dict[str, str]]:
    """Rows of a file of the look-up tests."""
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def time_each(work: Callable[[str], object], texts: Iterable[str]) -> list[float]:
    """Processor time of each text [ms]."""
    times = []
    for text in texts:
        start = time.process_time()
        work(text)
        times.append((time.process_time() - start) * 1000.0)
    return times


def make_hard_questions(chance: random.Random) -> list[str]:
    """Questions of 200 characters that ask for as much work as possible."""
    words = [word for _, name in list_trade_words() for word in name.split() if len(word) > 4]
    said = ["one", "seven", "eighty", "point", "five", "hundred", "and", "a", "half", "thousand", "by"]
    sizes = ["12", "a1", "788x17", '0.69"', "set of 6", "7 g"]
    questions = []
    for _ in range(50):
        wrong = [
            word[:2] + chance.choice(string.ascii_lowercase) + word[3:]
            for word in chance.choices(words, k=40)
        ]
        questions += [
            " ".join(wrong),
            " ".join(chance.choices(said, k=60)),
            " ".join(chance.choices(sizes, k=60)),
        ]
        questions.append(" ".join("".join(chance.choices(string.ascii_lowercase, k=5)) for _ in range(40)))
    return [question[:200] for question in questions]


def make_words(chance: random.Random, count: int) -> dict[str, int]:
    """Invented words of four to eleven letters."""
    return {"".join(chance.choices(string.ascii_lowercase, k=chance.randint(4, 11))): 1 for _ in range(count)}


def report_vocabulary(make: Callable[[], Analyser], questions: list[str], hard: list[str]) -> None:
    """Print the times of everyday and of hard questions; each the best of three with nothing remembered."""
    analysers = [make() for _ in range(3)]
    usual, worst = (
        [
            min(times)
            for times in zip(*(time_each(one.analyse_question, texts) for one in analysers), strict=True)
        ]
        for texts in (questions, hard)
    )
    print(
        f"  everyday median {statistics.median(usual):.3f} ms (target {TARGET_QUESTION_MS}), "
        f"hard median {statistics.median(worst):.2f} ms, worst {max(worst):.2f} ms (target {TARGET_WORST_MS})"
    )


def main() -> None:
    """Measure and print."""
    chance = random.Random(1)
    analyser = build_trade_analyser()
    rows = [
        RowText(row["part_no"], row["maker"], row["description"]) for row in read_rows("lookup_catalogue.csv")
    ]
    terms = Counter(term for row in rows for term in analyser.analyse_row(row).terms)
    start = time.process_time()
    for _ in range(10):
        for row in rows:
            analyser.analyse_row(row)
    row_us = (time.process_time() - start) / (10 * len(rows)) * 1e6
    print(f"row: {row_us:.0f} us (target {TARGET_ROW_US:.0f})")
    known = collect_vocabulary((field, term, count) for (field, term), count in terms.items())
    questions = [row["query"] for row in read_rows("lookup_queries.csv")]
    for extra in (0, 1_800, 4_000, 20_000):
        words = {**known.words, **make_words(chance, extra)}
        vocabulary = Vocabulary(words, known.codes, known.makers)
        start = time.process_time()
        analyser.replace_vocabulary(vocabulary)
        print(f"vocabulary of {len(words):,} words, made in {time.process_time() - start:.2f} s:")
        report_vocabulary(
            partial(analyser.replace_vocabulary, vocabulary), questions, make_hard_questions(chance)
        )


if __name__ == "__main__":
    main()
