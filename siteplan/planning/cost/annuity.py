"""What a payment a month is worth today, over so many years."""

from __future__ import annotations

#: Months of a year.
MONTHS = 12


def factor(discount_pct: float, years: float) -> float:
    """Return what one unit at the end of each month comes to today.

    The present value of an ordinary annuity, (1 - (1 + i)^-n) / i with n months and
    i = (1 + discount)^(1/12) - 1, the monthly rate that compounds to the yearly one.

    Parameters
    ----------
    discount_pct : float
        Discount a year. [%]
    years : float

    Examples
    --------
    >>> round(factor(8, 5), 4), factor(0, 5)
    (49.6449, 60.0)
    """
    months = MONTHS * years
    monthly = (1 + discount_pct / 100) ** (1 / MONTHS) - 1
    if monthly == 0:
        return float(months)
    return float((1 - (1 + monthly) ** -months) / monthly)
