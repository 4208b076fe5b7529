"""Wrong keys are answered more and more slowly: by address, from the fifth on.

Source: the delays are a judgement of this project (1 s, doubling to 60 s). With keys of 160 bits this is no
guard against guessing but against the load of it.
"""

from collections import OrderedDict

FREE_FAILURES = 4
LONGEST_SECONDS = 60.0
FORGOTTEN_SECONDS = 3600.0
MOST_ADDRESSES = 10_000


class Throttle:
    """Failures by address; the clock is handed in, so that it can be any that does not run backwards."""

    def __init__(self) -> None:
        self._failures: OrderedDict[str, tuple[int, float]] = OrderedDict()

    def count_wait_seconds(self, address: str, now_seconds: float) -> float:
        """How long an address still has to wait; 0 when it need not."""
        count, last = self._failures.get(address, (0, now_seconds))
        if count <= FREE_FAILURES or now_seconds - last >= FORGOTTEN_SECONDS:
            return 0.0
        delay = min(2.0 ** min(count - FREE_FAILURES - 1, 10), LONGEST_SECONDS)
        return max(last + delay - now_seconds, 0.0)

    def note_failure(self, address: str, now_seconds: float) -> None:
        """A wrong key came from an address."""
        count, last = self._failures.pop(address, (0, now_seconds))
        if now_seconds - last >= FORGOTTEN_SECONDS:
            count = 0
        self._failures[address] = (count + 1, now_seconds)
        if len(self._failures) > MOST_ADDRESSES:
            self._failures.popitem(last=False)

    def note_success(self, address: str) -> None:
        """A right key came from an address."""
        self._failures.pop(address, None)
