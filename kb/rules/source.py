"""Where a value came from, and how sources rank against each other.

Rank, best first: maker's manual and published standard, measured in the shop, supplier's list, common
practice, estimate, not stated. Source: contract of this project, judgement.
"""

from dataclasses import dataclass

from kb.terms import SourceKind

_RANK = {
    SourceKind.MANUAL: 0,
    SourceKind.STANDARD: 0,
    SourceKind.MEASURED: 1,
    SourceKind.SUPPLIER: 2,
    SourceKind.COMMON_PRACTICE: 3,
    SourceKind.ESTIMATE: 4,
    SourceKind.NOT_STATED: 5,
}
_STRONG = (SourceKind.MANUAL, SourceKind.STANDARD, SourceKind.MEASURED)
_KIND_TEXT = {
    SourceKind.MANUAL: "maker's manual",
    SourceKind.STANDARD: "published standard",
    SourceKind.MEASURED: "measured in the shop",
    SourceKind.SUPPLIER: "supplier's list",
    SourceKind.COMMON_PRACTICE: "common practice, no source",
    SourceKind.ESTIMATE: "estimate",
    SourceKind.NOT_STATED: "source not stated",
}


def get_rank(kind: SourceKind) -> int:
    """Rank of a kind of source: 0 for the best."""
    return _RANK[kind]


@dataclass(frozen=True, slots=True)
class SourceRef:
    """A source as an answer shows it: its short name, what it is, and where in it to look."""

    source: str
    kind: SourceKind
    title: str | None = None
    edition: str | None = None
    locator: str | None = None

    @property
    def name(self) -> str | None:
        """The short name, or None where no source was stated."""
        return self.source or None

    @property
    def rank(self) -> int:
        """0 for the best; equal ranks weigh the same."""
        return _RANK[self.kind]

    @property
    def is_strong(self) -> bool:
        """Whether it was printed by the maker, by a standard, or measured."""
        return self.kind in _STRONG

    def as_text(self) -> str:
        """One phrase for people.

        Example:
            >>> SourceRef("m1", SourceKind.MANUAL, "Workshop manual", "2nd", "page 12").as_text()
            "maker's manual: Workshop manual, 2nd, page 12"
        """
        what = ", ".join(word for word in (self.title, self.edition, self.locator) if word)
        kind = _KIND_TEXT[self.kind]
        return f"{kind}: {what}" if what else kind
