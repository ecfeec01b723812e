"""A regression of rent on what differs between homes, held by a prior where data are few.

The logarithm of each comp's rent is that of the subject home plus the differences times their
effects plus noise. Effects have normal priors from ``rent_effects.csv`` (low and high as 10th and
90th percentile); the noise has an inverse-gamma prior. The posterior is the conjugate one [1]_, and
its mean is what mixed estimation gives [2]_: ordinary least squares with the prior as extra rows.
With no comps it is the prior, with many it is least squares.

References
----------
.. [1] A. Gelman et al., Bayesian Data Analysis, 3rd ed., CRC Press 2013, section 14.8.
.. [2] H. Theil and A. S. Goldberger, "On pure and mixed statistical estimation in economics",
   International Economic Review 2(1):65–78, 1961.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from scorer.money.draws import NORMAL_P90
from scorer.records import Range

Floats = npt.NDArray[np.float64]

NOISE_SD = 0.12
"""Rents of like homes differ by about so much of their logarithm; common practice, no source."""
NOISE_ROWS = 6.0
"""How many comps the prior of the noise is worth; our own choice."""


class Posterior(NamedTuple):
    """Student-t posterior of the coefficients.

    Attributes
    ----------
    mean, scale
        Location of each coefficient and the scale matrix of the t distribution.
    freedom
        Degrees of freedom.
    noise_sd
        Noise of one comp's log rent.
    from_data
        Per coefficient the share of the prior's variance that the data took away [0–1].
    """

    mean: Floats
    scale: Floats
    freedom: float
    noise_sd: float
    from_data: Floats

    def quantiles(self, coefficient: int) -> tuple[float, float, float]:
        """10th, 50th and 90th percentile of one coefficient."""
        from scipy.special import stdtrit

        wide = float(stdtrit(self.freedom, 0.9) * np.sqrt(self.scale[coefficient, coefficient]))
        middle = float(self.mean[coefficient])
        return middle - wide, middle, middle + wide


def fit(
    differences: Floats,
    log_rents: Floats,
    prior_mean: Floats,
    prior_sd: Floats,
    noise_sd: float = NOISE_SD,
    noise_rows: float = NOISE_ROWS,
) -> Posterior:
    """Posterior of the coefficients.

    Parameters
    ----------
    differences
        Comp less subject, shape (comps, coefficients); the first column is 1 for the subject's own
        log rent.
    log_rents
        Natural logarithms of the comps' rents [$/month], shape (comps,).
    prior_mean, prior_sd
        Normal prior of every coefficient.
    """
    precision = np.diag(noise_sd**2 / prior_sd**2)
    together = precision + differences.T @ differences
    spread = np.linalg.inv(together)
    mean = spread @ (precision @ prior_mean + differences.T @ log_rents)
    left = log_rents - differences @ mean
    moved = mean - prior_mean
    freedom = noise_rows + len(log_rents)
    squares = noise_rows * noise_sd**2 + left @ left + moved @ precision @ moved
    noise = float(np.sqrt(squares / freedom))
    from_data = 1.0 - np.diag(spread) * noise_sd**2 / prior_sd**2
    scale = np.asarray(noise**2 * spread, dtype=np.float64)
    return Posterior(mean, scale, freedom, noise, np.clip(from_data, 0.0, 1.0))


def log_prior(percent: Range) -> tuple[float, float]:
    """Mean and standard deviation of the log effect of a range of percents.

    The typical figure is the mean; the spread is that from the 10th to the 90th percentile.
    """
    low, typical, high = (
        float(np.log1p(p / 100)) for p in (percent.low, percent.typical, percent.high)
    )
    return typical, (high - low) / (2 * NORMAL_P90)
