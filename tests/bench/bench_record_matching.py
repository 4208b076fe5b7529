"""How well the look-up's analyser matches records of others: two lists of restaurants, with known pairs.

Run from the root of the repository:
``python tests/bench/bench_record_matching.py py-entitymatching-0.4.2.tar.gz``.
The argument is the source package ``py-entitymatching`` of the Python package index, which ships the lists
(533 and 331 rows, 112 pairs). Nothing was tuned on them: no trade words, every token weighs what its rarity
says. Name, address, town and telephone are compared; the kind of kitchen is not, since each list has its own
words for it. A pair is matched when each row is the other's best, above a threshold; F1 is that of the best
threshold. Beside it ``rapidfuzz``'s WRatio and token_set_ratio on the same texts.
"""

import argparse
import csv
import io
import tarfile
from collections import Counter, defaultdict
from collections.abc import Callable, Sequence
from math import log

import numpy as np
from rapidfuzz.fuzz import WRatio, token_set_ratio
from rapidfuzz.process import cdist
from rapidfuzz.utils import default_process

from kb.rules.match.analyser import Analyser
from kb.rules.match.tokens import Candidate, Question, RowText, collect_vocabulary

FOLDER = "py_entitymatching/datasets/end-to-end/restaurants"
TARGET_F1 = 0.97

Rows = dict[str, str]
Scores = dict[tuple[str, str], float]


def read_sets(path: str) -> tuple[Rows, Rows, set[tuple[str, str]]]:
    """Texts of both lists by id, and the pairs that belong together."""
    with tarfile.open(path) as archive:
        files = {}
        for name in ("fodors", "zagats", "matches_fodors_zagats"):
            member = next(one for one in archive.getnames() if one.endswith(f"{FOLDER}/{name}.csv"))
            file = archive.extractfile(member)
            assert file is not None
            files[name] = list(csv.DictReader(io.TextIOWrapper(file, encoding="utf-8")))
    texts = [
        {row["id"]: " ".join(row[name] for name in ("name", "addr", "city", "phone")) for row in files[name]}
        for name in ("fodors", "zagats")
    ]
    pairs = {(row["fodors_id"], row["zagats_id"]) for row in files["matches_fodors_zagats"]}
    return texts[0], texts[1], pairs


class Side:
    """One list as rows of the look-up."""

    def __init__(self, rows: Rows) -> None:
        analyser = Analyser([])
        keys = {row_id: analyser.analyse_row(RowText("", "", text)) for row_id, text in rows.items()}
        terms = Counter(term for key in keys.values() for term in key.terms)
        self.rows = {
            row_id: Candidate(at, frozenset(key.tokens)) for at, (row_id, key) in enumerate(keys.items())
        }
        self.with_token: dict[str, list[str]] = defaultdict(list)
        for row_id, row in self.rows.items():
            for token in row.tokens:
                self.with_token[token].append(row_id)
        self.analyser = analyser.replace_vocabulary(
            collect_vocabulary((field, term, count) for (field, term), count in terms.items())
        )

    def get_rarity(self, token: str) -> float:
        """Weight of a token: the rarer, the more it tells."""
        return log(1 + len(self.rows) / max(1, len(self.with_token.get(token, ()))))

    def score(self, question: Question) -> dict[str, float]:
        """Share of the question that each row answers."""
        groups = question.readings[0].groups
        found: dict[str, float] = defaultdict(float)
        total = 0.0
        for group in groups:
            weights = {
                token: self.get_rarity(token) for token, _ in group.alternatives if token in self.with_token
            }
            total += max(weights.values(), default=log(1 + len(self.rows)))
            best: dict[str, float] = {}
            for token, factor in group.alternatives:
                for row_id in self.with_token.get(token, ()):
                    best[row_id] = max(best.get(row_id, 0.0), factor * weights[token])
            for row_id, value in best.items():
                found[row_id] += value
        return {row_id: value / total for row_id, value in found.items()}


def score_by_look_up(left: Rows, right: Rows) -> Scores:
    """Geometric mean of both directions: how much of the one row is in the other."""
    sides = (Side(left), Side(right))
    forward = {
        (one, other): score
        for one, text in left.items()
        for other, score in sides[1].score(sides[1].analyser.analyse_question(text)).items()
    }
    backward = {
        (one, other): score
        for other, text in right.items()
        for one, score in sides[0].score(sides[0].analyser.analyse_question(text)).items()
    }
    return {
        pair: (forward.get(pair, 0.0) + backward.get(pair, 0.0)) / 2
        for pair in forward.keys() | backward.keys()
    }


def score_by_ratio(left: Rows, right: Rows, scorer: Callable[..., float]) -> Scores:
    """Scores of a plain fuzzy comparison of every pair."""
    grid = cdist(list(left.values()), list(right.values()), scorer=scorer, processor=default_process)
    return {(one, other): float(grid[x, y]) for x, one in enumerate(left) for y, other in enumerate(right)}


def find_best_f1(scores: Scores, pairs: set[tuple[str, str]]) -> tuple[float, float]:
    """F1 of mutual best pairs at the best threshold, and the threshold."""
    best: list[dict[str, float]] = [defaultdict(float), defaultdict(float)]
    for pair, score in scores.items():
        for side in (0, 1):
            best[side][pair[side]] = max(best[side][pair[side]], score)
    mutual = sorted(
        ((score, pair) for pair, score in scores.items() if score == best[0][pair[0]] == best[1][pair[1]]),
        reverse=True,
    )
    results = [(0.0, 0.0)]
    right = 0
    for count, (score, pair) in enumerate(mutual, start=1):
        right += pair in pairs
        results.append((2 * right / (count + len(pairs)), score))
    return max(results)


def measure_recall(scores: Scores, pairs: set[tuple[str, str]]) -> float:
    """Share of the pairs whose right row is among the ten best of the left one."""
    by_left: dict[str, list[tuple[float, str]]] = defaultdict(list)
    for (one, other), score in scores.items():
        by_left[one].append((score, other))
    hits = [other in {name for _, name in sorted(by_left[one], reverse=True)[:10]} for one, other in pairs]
    return float(np.mean(hits))


def main(arguments: Sequence[str] | None = None) -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description="How well the look-up matches records of others.")
    parser.add_argument(
        "archive", help="py-entitymatching-0.4.2.tar.gz, the package's source from the Python package index"
    )
    left, right, pairs = read_sets(parser.parse_args(arguments).archive)
    print(f"restaurants: {len(left)} x {len(right)} rows, {len(pairs)} pairs")
    for name, scores in (
        ("look-up", score_by_look_up(left, right)),
        ("token_set_ratio", score_by_ratio(left, right, token_set_ratio)),
        ("WRatio", score_by_ratio(left, right, WRatio)),
    ):
        f1, threshold = find_best_f1(scores, pairs)
        target = f" (target {TARGET_F1})" if name == "look-up" else ""
        print(
            f"  {name}: F1 {f1:.3f}{target} at {threshold:.2f}, recall@10 {measure_recall(scores, pairs):.3f}"
        )


if __name__ == "__main__":
    main()
