"""Timetable of depreciation for a United States residential rental: information, not tax advice.

References
----------
.. [1] IRS Publication 946, table A-6 (residential rental property, 27.5 years, straight line,
   mid-month) and table A-1 (5-year property, half-year convention).
.. [2] IRS Publication 527, chapter 2: building of $160,000 in service in February, $5,091.
.. [3] Treasury Regulation 1.263(a)-3(h): small taxpayers, the lesser of $10,000 or 2 % of the
   building's basis, basis up to $1,000,000.
"""

from __future__ import annotations

from scorer.errors import InputError
from scorer.records import Record

RECOVERY_YEARS = 27.5
FIVE_YEAR_SHARES = (0.20, 0.32, 0.192, 0.1152, 0.1152, 0.0576)
"""Yearly shares of 5-year property (appliances, carpet, furniture in a rental), table A-1 [1]_."""
SMALL_TAXPAYER_USD, SMALL_TAXPAYER_SHARE, SMALL_TAXPAYER_BASIS_USD = 10_000.0, 0.02, 1_000_000.0


class YearOfDepreciation(Record):
    """Year 1 is the one in which the property is placed in service; amounts in dollars."""

    year: int
    building_usd: float
    five_year_usd: float

    @property
    def total_usd(self) -> float:
        """Both together [$]."""
        return self.building_usd + self.five_year_usd


def building_share(month: int, year: int) -> float:
    """Share of the building's basis that a year writes off [0–1].

    Straight line over 27.5 years from the middle of the month in which it is placed in service;
    published tables round to a thousandth of a percent [1]_.

    Parameters
    ----------
    month
        Calendar month placed in service, 1 to 12.
    year
        1 for the year placed in service.
    """
    if not 1 <= month <= 12:
        raise InputError(f"month: must be 1 to 12 (given: {month}).")
    if year < 1:
        raise InputError(f"year: must be 1 or later (given: {year}).")
    before = max(0.0, 12.0 * (year - 1) - (month - 0.5))
    after = min(12.0 * RECOVERY_YEARS, 12.0 * year - (month - 0.5))
    return max(0.0, after - before) / (12.0 * RECOVERY_YEARS)


def five_year_share(year: int) -> float:
    """Share of 5-year property that a year writes off [0–1], half-year convention [1]_."""
    return FIVE_YEAR_SHARES[year - 1] if 1 <= year <= len(FIVE_YEAR_SHARES) else 0.0


def depreciation_timetable(
    building_usd: float, month: int, five_year_usd: float = 0.0, years: int | None = None
) -> tuple[YearOfDepreciation, ...]:
    """Depreciation year by year.

    Parameters
    ----------
    building_usd
        Basis of the building with improvements, land left out [$].
    month
        Calendar month placed in service, 1 to 12.
    five_year_usd
        Basis of appliances, carpet and furniture [$]; half-year convention.
    years
        How many years; all of them if None.
    """
    last = years if years is not None else (28 if month <= 6 else 29)
    return tuple(
        YearOfDepreciation(
            year=year,
            building_usd=building_usd * building_share(month, year),
            five_year_usd=five_year_usd * five_year_share(year),
        )
        for year in range(1, last + 1)
    )


def small_taxpayer_limit(building_basis_usd: float) -> float:
    """Yearly repairs and improvements that a small taxpayer may deduct at once [$] [3]_."""
    if building_basis_usd > SMALL_TAXPAYER_BASIS_USD:
        return 0.0
    return min(SMALL_TAXPAYER_USD, SMALL_TAXPAYER_SHARE * building_basis_usd)
