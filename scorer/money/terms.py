"""What buying, holding and selling a home cost, beside the work on it."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from scorer.listing.listing import Listing
from scorer.records import Probability, Record

NotNegative = Annotated[float, Field(ge=0, le=1e9)]
Rate = Annotated[float, Field(ge=0, le=0.5)]


class Terms(Record):
    """Assumptions of a holding; every one can be overridden by the user.

    Attributes
    ----------
    operating_share
        Running costs without property tax over full rent [0–1]: insurance, upkeep, management.
        Lenders count 75 % of the rent, 25 % for vacancy and upkeep together (Fannie Mae Selling
        Guide B3-3.1-08); with insurance and management 30 % beside vacancy is common practice.
    operating_share_with_tax
        The same with property tax in it, where the tax is not known [0–1]. With 7 % of vacancy it
        makes the trade's rule that half of the rent is gone; a rule of thumb, no source.
    closing_share, selling_share
        Cost of buying and of selling over the price [0–1]; common practice, no source.
    rent_growth
        Yearly growth of the rent [1/year]; zero is the cautious choice.
    loan_share
        Loan over price [0–1]; zero: paid in cash.
    loan_rate, loan_years
        Yearly rate [1/year] and term [years].
    reserve_share
        Set aside for large repairs over full rent [0–1].
    """

    operating_share: Probability = 0.30
    operating_share_with_tax: Probability = 0.43
    closing_share: Rate = 0.03
    selling_share: Rate = 0.06
    rent_growth: Annotated[float, Field(gt=-0.5, le=0.5)] = 0.0
    loan_share: Probability = 0.0
    loan_rate: Rate = 0.07
    loan_years: Annotated[float, Field(gt=0, le=50)] = 30.0
    reserve_share: Probability = 0.0

    def running_costs(self, listing: Listing) -> tuple[float, float]:
        """Share of full rent [0–1] and yearly tax [$/year] that this home's running costs take."""
        if listing.annual_tax_usd is None:
            return self.operating_share_with_tax, 0.0
        return self.operating_share, listing.annual_tax_usd
