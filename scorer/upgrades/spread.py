"""Low, typical and high of a product whose factors are uncertain on their own.

References
----------
.. [1] Product of independent lognormal factors: variances of the logarithms add, so distances of a
   percentile from the median, in logarithms, add in quadrature (e.g. N. L. Johnson, S. Kotz and
   N. Balakrishnan, *Continuous Univariate Distributions*, vol. 1, 2nd ed., 1994, ch. 14).
"""

from __future__ import annotations

from math import exp, hypot, log

from scorer.records import Range


def product(*factors: Range) -> Range:
    """Product of independent factors that are not negative, 10th to 90th percentile [1]_.

    .. math:: high = t \\exp \\sqrt{\\sum_i \\ln^2 (h_i / t_i)}

    and likewise down to low. Low with low and high with high would be far rarer than one in ten.
    The result never falls when a figure of a factor rises. With only one factor that has a spread
    it is the plain product; where a low is zero so is the product's.

    Raises
    ------
    ValueError
        If a factor is negative.
    """
    typical, up, down, nothing, high = 1.0, 0.0, 0.0, False, 1.0
    for factor in factors:
        if factor.low < 0:
            raise ValueError("factors must not be negative")
        typical *= factor.typical
        high *= factor.high
        nothing = nothing or factor.low == 0
        if factor.typical > 0:
            up = hypot(up, log(factor.high / factor.typical))
            if factor.low > 0:
                down = hypot(down, log(factor.typical / factor.low))
    return Range(
        low=0.0 if nothing else min(typical, typical * exp(-down)),
        typical=typical,
        high=max(typical, typical * exp(up)) if typical > 0 else high,
    )
