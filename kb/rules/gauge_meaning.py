"""What a verdict on a worn part does not say by itself: inside its limit is not as new.

A person reads "good" and sends the scooter out; the rider who lost a tenth of the top speed comes back. The
limit is the maker's; what is felt before it stands here in one sentence. It tells nothing about slip or life.

Source: from 5 % of top speed, 10 % of clamp or 5 mm of slack on a rider feels it: judgement of this project.
"""

from collections.abc import Iterator, Sequence

from kb.rules.gauge_values import GaugeConsequence, GaugeState
from kb.rules.said_figures import say_percent, say_up_to
from kb.rules.word_list import format_word_list

FELT_TOP_SPEED_PERCENT = 5.0
FELT_CLAMP_PERCENT = 10.0
FELT_SLACK_MM = 5.0


def say_meaning(state: GaugeState, consequences: Sequence[GaugeConsequence]) -> str | None:
    """One sentence on a part inside its limit whose wear is felt already; None where there is nothing to say.

    Example:
        >>> found = GaugeConsequence("top_speed", "...", change_percent=-11.5)
        >>> say_meaning(GaugeState.GOOD, [found]).partition(":")[2]
        ' top speed is down by up to about 12 %. A new part gives that back.'
        >>> say_meaning(GaugeState.REPLACE, [found]) is None
        True
    """
    felt = [said for item in consequences for said in _list_felt(item)]
    if not felt or state not in (GaugeState.GOOD, GaugeState.NEAR_LIMIT):
        return None
    return f"Inside the limit is not as new: {format_word_list(felt)}. A new part gives that back."


def _list_felt(found: GaugeConsequence) -> Iterator[str]:
    percent, change = found.change_percent or 0.0, found.change or 0.0
    if found.quantity == "top_speed" and percent <= -FELT_TOP_SPEED_PERCENT:
        yield f"top speed is down by {say_up_to(say_percent(percent))}"
    elif found.quantity == "clamp_force" and percent <= -FELT_CLAMP_PERCENT:
        yield f"the spring clamps {say_percent(percent)} less"
    elif found.quantity == "slack_at_rest" and change >= FELT_SLACK_MM:
        yield "the belt hangs slack at rest"
    elif found.quantity == "boss_clearance":
        yield "the belt bottoms in the pulley"
    elif found.quantity == "drive":
        yield "the pulley no longer drives the belt"
