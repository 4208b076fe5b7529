"""The one analyser that rows and questions share."""

from collections.abc import Iterable

from kb.rules.match.phrases import PhraseTable
from kb.rules.match.question import QuestionReader
from kb.rules.match.rows import BearingSizes, analyse_row
from kb.rules.match.spelling import Spelling
from kb.rules.match.tokens import Question, RowKeys, RowText, Vocabulary


class Analyser:
    """Turns rows into index keys and questions into groups, with one phrase table.

    Args:
        phrases: pairs of concept and phrase; an empty concept marks a descriptive word.
        bearing_sizes: bore, outside diameter, width by bearing designation [mm], ISO 15; may be empty.
        vocabulary: words, codes and makers of the stored rows; needed for questions only.

    Example:
        >>> analyser = Analyser([("drive_belt", "drive belt")])
        >>> analyser.analyse_row(RowText("A-1", "Béluna", "Drive belt 17.5x788")).tokens
        ('kdrivebelt', 'mbeluna', 'n17p5', 'n788', 'wdrive', 'wbelt')
        >>> [group.text for group in analyser.analyse_question("788 x 17.5 belt drive").readings[0].groups]
        ['788', '17.5', 'drive belt', 'belt', 'drive']
    """

    def __init__(
        self,
        phrases: PhraseTable | Iterable[tuple[str, str]],
        *,
        bearing_sizes: BearingSizes | None = None,
        vocabulary: Vocabulary | None = None,
    ) -> None:
        self.phrases = phrases if isinstance(phrases, PhraseTable) else PhraseTable(phrases)
        self.bearing_sizes: BearingSizes = bearing_sizes or {}
        self._use_vocabulary(vocabulary or Vocabulary())

    def _use_vocabulary(self, vocabulary: Vocabulary) -> None:
        self._spelling = Spelling(self.phrases, vocabulary.words)
        self._reader = QuestionReader(self.phrases, self._spelling, vocabulary)

    def replace_vocabulary(self, vocabulary: Vocabulary) -> "Analyser":
        """An analyser with the same phrase table and another vocabulary."""
        return Analyser(self.phrases, bearing_sizes=self.bearing_sizes, vocabulary=vocabulary)

    def analyse_row(self, row: RowText) -> RowKeys:
        """Index keys of a row."""
        return analyse_row(
            row, phrases=self.phrases, spelling=self._spelling, bearing_sizes=self.bearing_sizes
        )

    def list_changed_words(self, other: "Analyser", words: Iterable[str]) -> list[str]:
        """Words of rows that mean something else with another phrase table; all if that is not sure.

        The weight of a trade word depends on how many articles share it and on how many there are in all.
        """
        if self.phrases.concept_count != other.phrases.concept_count:
            return list(words)
        touched = self.phrases.list_differing_words(other.phrases)
        changed = []
        for word in words:
            mine, theirs = self._spelling.read_row_word(word), other._spelling.read_row_word(word)
            if mine != theirs or any(read in touched for read, _ in mine):
                changed.append(word)
        return changed

    def analyse_question(self, text: str) -> Question:
        """A question in weighted groups."""
        return self._reader.read(text)
