"""Names of makers in a question: whole, in part, and misspelt."""

from collections import defaultdict
from collections.abc import Iterable

from kb.rules.match.normal import squeeze
from kb.rules.match.spelling import NearestWords

_MIN_PART = 4
_MAX_MAKERS = 5


class MakerNames:
    """Makers of the stored rows by squeezed name and by each longer word of the name.

    Args:
        names: folded names, as the vocabulary keeps them.
    """

    def __init__(self, names: Iterable[str]) -> None:
        self._by_text: dict[str, list[str]] = defaultdict(list)
        for name in sorted(set(names)):
            texts = {squeeze(name), *(squeeze(part) for part in name.split() if len(part) >= _MIN_PART)}
            for text in texts - {""}:
                self._by_text[text].append(name)
        self._starts = frozenset(text[:end] for text in self._by_text for end in range(1, len(text) + 1))
        self._near = NearestWords(text for text in self._by_text if len(text) >= _MIN_PART)

    def is_start(self, text: str) -> bool:
        """Whether a squeezed name, or a word of a name, begins so."""
        return text in self._starts

    def find_exact(self, text: str) -> list[str]:
        """Makers with this squeezed name, or with this word in their name."""
        return self._by_text.get(text, [])[:_MAX_MAKERS]

    def find_near(self, word: str) -> list[tuple[str, float]]:
        """Makers whose name, or a word of it, is one or two edits away, each with its certainty."""
        near = self._near.find(word)
        if not near:
            return []
        nearest = near[0][1]
        certainty = (1.0, 0.93, 0.86)[nearest]
        return [
            (name, certainty)
            for text, distance in near
            if distance == nearest
            for name in self._by_text[text][:_MAX_MAKERS]
        ][:_MAX_MAKERS]
