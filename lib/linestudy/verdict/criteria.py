"""The criteria a verdict is made by: the study's own where it names them, else the usual ones."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from linestudy.study.model import Criteria as StudyCriteria

_PPAP = "AIAG PPAP, 4th ed. (2006), 2.2.11.3"
_MSA = "AIAG MSA, 4th ed. (2010)"
_COMMON = "common practice, no source"

#: Key → default value, and where the default comes from.
DEFAULTS: dict[str, tuple[float | str, str]] = {
    "capability_accept": (1.67, _PPAP),
    "capability_review": (1.33, _PPAP),
    "grr_accept": (0.10, f"{_MSA}, ch. II, table II-D 1"),
    "grr_review": (0.30, f"{_MSA}, ch. II, table II-D 1"),
    "ndc_min": (5.0, f"{_MSA}, ch. II section D"),
    "bias_alpha": (0.05, f"{_MSA}, ch. III section B"),
    "kappa_min": (0.75, f"{_MSA}, ch. III section C"),
    "decide_on": ("estimate", _COMMON),
    "least_readings": (100.0, _PPAP),
    "least_subgroups": (25.0, _PPAP),
}


@dataclass(frozen=True, slots=True)
class Criterion:
    """One threshold and whose it is.

    Attributes
    ----------
    key : str
        Its name in study.toml.
    value : float or str
        Indices and shares are pure numbers.
    source : str
        A standard with its section, or the customer as study.toml names them.
    """

    key: str
    value: float | str
    source: str

    @property
    def number(self) -> float:
        """The value, for criteria that are numbers."""
        return float(self.value)


@dataclass(frozen=True)
class Criteria:
    """All criteria of a study, resolved.

    Attributes
    ----------
    items : dict of str to Criterion
        By key.
    """

    items: dict[str, Criterion]

    def __getitem__(self, key: str) -> Criterion:
        return self.items[key]

    @property
    def on_bound(self) -> bool:
        """True when decisions are made on the unfavourable confidence bound."""
        return self.items["decide_on"].value == "lower bound"


def resolve(given: StudyCriteria | None = None) -> Criteria:
    """Fill in the defaults of criteria that a study does not name.

    Parameters
    ----------
    given : linestudy.study.model.Criteria, optional
        The [criteria] table of study.toml.

    Returns
    -------
    Criteria
        A criterion that the study sets is named as the study's (or as its
        ``source`` says); the others carry the source of the default.

    Examples
    --------
    >>> resolve()["capability_accept"].number
    1.67
    """
    owner = (given.source if given and given.source else None) or "set in study.toml"
    items = {}
    for key, (default, source) in DEFAULTS.items():
        own = getattr(given, key, None)
        items[key] = Criterion(
            key, default if own is None else own, source if own is None else owner
        )
    return Criteria(items)
