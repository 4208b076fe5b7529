"""Simple and published forecasts to hold the program's method against; used by benches and tests only.

Sources, all from memory of the papers: Croston 1972 (Operational Research Quarterly 23); Syntetos and
Boylan 2005 (International Journal of Forecasting 21) for SBA; Teunter, Syntetos and Babai 2011
(European Journal of Operational Research 214) for TSB; Nikolopoulos and others 2011 (Journal of the
Operational Research Society 62) for ADIDA.
"""

from collections.abc import Sequence


def smooth_exponentially(values: Sequence[float], alpha: float) -> float:
    """Level after simple exponential smoothing, started at the first value."""
    level = values[0]
    for value in values[1:]:
        level += alpha * (value - level)
    return level


def forecast_croston(history: Sequence[float], alpha: float = 0.1) -> float:
    """Mean size of a demand over the mean gap between demands, each smoothed; 0 without a demand."""
    sizes, gaps, gap = [], [], 0
    for pieces in history:
        gap += 1
        if pieces > 0:
            sizes.append(float(pieces))
            gaps.append(float(gap))
            gap = 0
    if not sizes:
        return 0.0
    return smooth_exponentially(sizes, alpha) / smooth_exponentially(gaps, alpha)


def forecast_sba(history: Sequence[float], alpha: float = 0.1) -> float:
    """Croston's forecast without its bias: times 1 - alpha/2."""
    return (1.0 - alpha / 2.0) * forecast_croston(history, alpha)


def forecast_tsb(history: Sequence[float], alpha_size: float = 0.1, alpha_chance: float = 0.1) -> float:
    """Chance of a demand times its size; the chance is smoothed in every month, also empty ones."""
    sizes = [float(pieces) for pieces in history if pieces > 0]
    if not sizes:
        return 0.0
    chance = smooth_exponentially([float(pieces > 0) for pieces in history], alpha_chance)
    return chance * smooth_exponentially(sizes, alpha_size)


def forecast_adida(history: Sequence[float], alpha: float = 0.1) -> float:
    """Months summed to blocks as long as the mean gap between demands, smoothed, spread over the block."""
    gaps, gap = [], 0
    for pieces in history:
        gap += 1
        if pieces > 0:
            gaps.append(gap)
            gap = 0
    if not gaps:
        return 0.0
    # The mean rounded half to even, as numpy does, so that the cross-check compares like with like.
    block = max(round(sum(gaps) / len(gaps)), 1)
    spare = len(history) % block
    sums = [float(sum(history[k : k + block])) for k in range(spare, len(history), block)]
    return smooth_exponentially(sums, alpha) / block


def compute_month_variance(history: Sequence[float]) -> float:
    """Sample variance of the months; 0 for fewer than two."""
    if len(history) < 2:
        return 0.0
    mean = sum(history) / len(history)
    return sum((pieces - mean) ** 2 for pieces in history) / (len(history) - 1)


def smooth_month_variance(history: Sequence[float], alpha: float = 0.1) -> float:
    """Squared errors of exponential smoothing, smoothed the same way; started over the first year.

    A short memory: on falling demand it holds less stock than the variance of the whole history.
    """
    first_year = history[:12]
    mean, variance = sum(first_year) / len(first_year), compute_month_variance(first_year)
    for pieces in history[12:]:
        variance += alpha * ((pieces - mean) ** 2 - variance)
        mean += alpha * (pieces - mean)
    return variance
