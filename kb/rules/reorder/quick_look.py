"""Whether the pieces of a part are surely enough, by a bound on plain numbers instead of a distribution.

Most parts of a shelf lie far above their reorder point. This puts them aside in about a microsecond each, so
that only the rest is judged exactly; it may keep a part that is not low, never leave out one that is.
"""

from dataclasses import dataclass
from math import log

from kb.rules.reorder.demand_rate import DISPERSION_STRENGTH_MONTHS, PartTypePrior


@dataclass(frozen=True, slots=True)
class QuickLook:
    """What all parts of a type with the same wait share: their prior, the exposure ahead, the service."""

    prior: PartTypePrior
    exposure_ahead_months: float
    service: float

    def is_surely_enough(
        self, position: int, pieces: float, squares: float, own: tuple[float, float]
    ) -> bool:
        """Whether the position covers the demand ahead with the service asked for.

        Either of two bounds is proof enough: Cantelli's is the closer one for slow parts, Chernoff's for
        those that sell. With mean m and spread phi = variance/mean, for any distribution
        P(D > x) <= phi·m/(phi·m + (x - m)^2); for a negative binomial, with k = x + 1 and r = m/(phi - 1),
        P(D >= k) <= exp(-I), I = k·log(k/m) - (k + r)·log((k + r)/(m + r)). Both only fall with the spread
        (the moment generating function grows with it), so sums of squares from above are good enough. Mean
        and variance are those of ``compute_demand_rate`` and ``compute_demand_over``, without their objects.

        Args:
            position: available and on order [pieces].
            pieces: discounted pieces of the history.
            squares: discounted squares by exposure of the history, or more.
            own: discounted exposure and discounted months of the history.

        Source: published: Cantelli's inequality (the one-sided Chebyshev inequality) and Chernoff's bound,
        from memory; Chernoff's is worked out here for the negative binomial.

        Example:
            >>> look = QuickLook(PartTypePrior(0.5, 2.0, 1.2, 0.0, 9), 0.5, 0.95)
            >>> look.is_surely_enough(9, 3.0, 3.0, (6.0, 6.0)), look.is_surely_enough(1, 3.0, 3.0, (6.0, 6.0))
            (True, False)
        """
        prior, ahead = self.prior, self.exposure_ahead_months
        exposure, months = own
        known = prior.borrowed_months + exposure
        rate = (prior.borrowed_months * prior.rate_per_month + pieces) / known
        mean = rate * ahead
        if position < mean:
            return False
        expected = DISPERSION_STRENGTH_MONTHS * (prior.dispersion_base + prior.dispersion_slope * rate)
        residual = squares / rate - 2.0 * pieces + rate * exposure
        dispersion = (expected + residual) / (DISPERSION_STRENGTH_MONTHS + months)
        spread = max(dispersion, 1.0) * (1.0 + ahead / known)
        if (position - mean) ** 2 * (1.0 - self.service) >= spread * mean * self.service:
            return True
        # How unsure the rate is always leaves some spread beyond a Poisson's, so r is finite.
        k, r = position + 1, mean / (spread - 1.0)
        return k * log(k / mean) - (k + r) * log((k + r) / (mean + r)) >= -log(1.0 - self.service)
