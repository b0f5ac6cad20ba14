"""How many parts, before anyone measures.

Model: independent normal parts, a one-sided index. The study succeeds when the one-sided lower
confidence bound of the index lies above what is required; the chance of that follows from the
noncentral t distribution (Owen, *Technometrics* 10 (1968)). For two-sided limits it is nearly the
same unless the mean lies in the middle. Misleads when parts are serially correlated: then it is
the number of independent parts that counts, and more must be taken.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from linestudy.results import CannotJudge, Finding

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class SampleSize(Finding):
    """How many parts show an index, and what smaller samples could.

    Attributes
    ----------
    n : int
        Independent parts needed.
    true_index, required : float
    power, confidence : float
    chances : tuple of (int, float)
        Sample sizes and the chance of success with each.
    """

    n: int
    true_index: float
    required: float
    power: float
    confidence: float
    chances: tuple[tuple[int, float], ...]
    cautions: tuple[str, ...] = (
        "Parts must be independent: on a fast line take them far enough apart.",
    )
    title: ClassVar[str] = "Sample size"
    picture: ClassVar[str] = "plan:chance_of_success"

    @property
    def statement(self) -> str:
        return (
            f"If the index is truly {self.true_index:g}, {self.n:,} independent parts show it above "
            f"{self.required:g} at {self.confidence:.0%} confidence in {self.power:.0%} of studies."
        )

    def shown(self) -> pd.DataFrame:
        import pandas as pd

        return pd.DataFrame(
            {
                "parts": [n for n, _ in self.chances],
                "chance to show it": [f"{chance:.0%}" for _, chance in self.chances],
            }
        )


def chance_to_show(n: int, true_index: float, required: float, confidence: float = 0.95) -> float:
    """Chance that n parts show an index above what is required.

    Parameters
    ----------
    n : int
        Independent parts, at least 2.
    true_index, required : float
    confidence : float
        Of the one-sided lower bound.

    Returns
    -------
    float

    Examples
    --------
    >>> round(chance_to_show(100, 2.0, 1.67), 2)
    0.77
    """
    from scipy.stats import nct

    root = 3 * math.sqrt(n)
    # The bound exceeds `required` where the observed t exceeds this quantile under `required`.
    critical = nct.ppf(confidence, n - 1, root * required)
    return float(nct.sf(critical, n - 1, root * true_index))


def sample_size(
    true_index: float = 2.0,
    required: float = 1.67,
    power: float = 0.8,
    confidence: float = 0.95,
    largest: int = 100_000,
) -> SampleSize:
    """Smallest number of parts that shows an index above what is required.

    Parameters
    ----------
    true_index : float
        What the index is believed to be.
    required : float
        What it must be shown to exceed.
    power : float
        Wished chance of success.
    confidence : float
        Of the one-sided lower bound.
    largest : int
        Where to give up.

    Returns
    -------
    SampleSize

    Raises
    ------
    CannotJudge
        The true index is not above what is required, or the sample would be too large.

    Examples
    --------
    >>> sample_size(2.0, 1.33).n
    24
    """
    if true_index <= required:
        raise CannotJudge("No sample shows an index above a value that it does not exceed.")
    low, high = 2, 4
    while chance_to_show(high, true_index, required, confidence) < power:
        low, high = high, high * 2
        if high > largest:
            raise CannotJudge(f"More than {largest:,} parts would be needed.")
    while high - low > 1:
        middle = (low + high) // 2
        if chance_to_show(middle, true_index, required, confidence) < power:
            low = middle
        else:
            high = middle
    sizes = sorted({10, 30, 50, 100, 125, 200, 300, high})
    chances = tuple((n, chance_to_show(n, true_index, required, confidence)) for n in sizes)
    return SampleSize(high, true_index, required, power, confidence, chances)
