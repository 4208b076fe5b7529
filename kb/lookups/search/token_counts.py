"""In how many rows a token stands, so that a search starts at the rarest of what is asked.

Reading the list of a rare token and looking into its few rows is many times as fast as walking through the
lists of all tokens. The counts choose the way to the rows, never which rows are found: so they may be old,
and common tokens are estimated.
"""

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence

COUNTED = 1_000
"""A token in more rows than this is not counted but estimated."""
WINDOWS = 32
WINDOW_IDS = 64
"""An estimate rests on the rows of so many windows, spread over all ids, each of so many ids."""
STEPS_PER_ROW = 400
"""Steps through the list of a token that take as long as looking into one row.

Source: measured on 100,000 and 1,000,000 generated parts: about 12 ns a step, 1 to 10 us a row.
"""
_TOGETHER = 0.5
"""Power of the share of rows that another group leaves: 1 would mean that words meet by chance only.

Source: judgement of this project; measured, two sizes of a nut leave eight times as many rows as by chance.
"""
_IDS_PER_ENTRY = 2
_GROWTH = 1.25
_USES_OF_SHARES = 1_000
_MOST_KEPT = 200_000

Group = Collection[str]


class TokenCounts:
    """What a process remembers of the tokens it counted; another size of the index makes it forget.

    Args:
        steps_per_row: steps through the list of a token that take as long as looking into one row.
    """

    def __init__(self, *, steps_per_row: float = STEPS_PER_ROW) -> None:
        self._steps_per_row = steps_per_row
        self._counts: dict[str, int] = {}
        self._counted_at = 0
        self._in_windows: Counter[str] | None = None
        self._rare = 0
        self._uses = 0
        self.last_id = 0

    def set_last_id(self, last_id: int) -> None:
        """Say which is the highest id in the index by now."""
        self.last_id = last_id
        is_like = self._counted_at / _GROWTH <= last_id <= self._counted_at * _GROWTH
        if not is_like or len(self._counts) > _MOST_KEPT:
            self._counts = {}
            self._in_windows = None
            self._counted_at = last_id

    def is_due(self) -> bool:
        """Whether shares of the common tokens should be read again: at first, and then now and then."""
        self._uses += 1
        return self._uses % _USES_OF_SHARES == 1

    def learn_shares(self, shares: Mapping[str, float], *, entries: int) -> None:
        """Take over which tokens are common, as a database's own statistics have it; all others are rare."""
        self.last_id = entries * _IDS_PER_ENTRY
        self._counts = {token: max(1, int(share * entries)) for token, share in shares.items()}
        self._rare = max(1, min(self._counts.values(), default=0))

    def get_rare(self, _token: str) -> int:
        """In how many rows a token stands, at most, that is none of the common ones."""
        return self._rare

    def learn(self, counts: Iterable[tuple[str, int]]) -> None:
        """Take over counts that are known from elsewhere."""
        self._counts.update(counts)

    def estimate(self, token: str, read_tokens: Callable[[int, int], Iterable[str]]) -> int:
        """In about how many rows a token stands that was found in as many as are counted; never in fewer.

        Args:
            token: the token.
            read_tokens: gives the tokens of the rows between two ids; asked once until the index has grown.
        """
        if self._in_windows is None:
            windows = list_windows(self.last_id)
            read = " ".join(tokens for window in windows for tokens in read_tokens(*window))
            self._in_windows = Counter(read.split())
        return max(COUNTED, self._in_windows[token] * self.last_id // (WINDOWS * WINDOW_IDS))

    def find_size(self, group: Group, count: Callable[[str], int]) -> int:
        """In how many rows one of the tokens stands, at most; 0 only when the rows say so now.

        Args:
            group: tokens of which a row should have one.
            count: tells in about how many rows a token stands; exactly where there are few.
        """
        size = 0
        for token in group:
            known = self._counts.get(token)
            if known is None:
                known = count(token)
                if known:  # a token in no row may stand in one a moment later
                    self._counts[token] = known
            size += known
        return size

    def choose_start(
        self, groups: Sequence[Group], count: Callable[[str], int]
    ) -> tuple[list[Group], list[Group]] | None:
        """Groups whose lists are walked through, and those that are looked for in the rows then found.

        Returns:
            None when nothing can be found, because all tokens of a group stand in no row.

        Example:
            >>> counts = TokenCounts()
            >>> counts.set_last_id(200_000)
            >>> stands = {"kbelt": 20_000, "n788": 45, "n18": 4_000}
            >>> counts.choose_start([["kbelt"], ["n18"], ["n788"]], stands.__getitem__)
            ([['n788'], ['n18']], [['kbelt']])
        """
        sized = []
        for group in groups:
            size = self.find_size(group, count)
            if not size:
                return None
            sized.append((size, group))
        sized.sort(key=lambda pair: pair[0])
        rows, first = sized[0]
        walked, looked_for = [first], []
        expected, entries = float(rows), max(1.0, self.last_id / _IDS_PER_ENTRY)
        for size, group in sized[1:]:
            if expected * self._steps_per_row > size:
                walked.append(group)
                expected = max(1.0, expected * min(1.0, size / entries) ** _TOGETHER)
            else:
                looked_for.append(group)
        return walked, looked_for


def list_windows(last_id: int) -> list[tuple[int, int]]:
    """First and last id of the windows whose rows are read to estimate common tokens, spread over all ids.

    Example:
        >>> list_windows(2_000_000)[:2]
        [(31250, 31313), (93750, 93813)]
    """
    step = last_id / WINDOWS
    firsts = [int(step * (at + 0.5)) for at in range(WINDOWS)]
    return [(first, first + WINDOW_IDS - 1) for first in firsts]
