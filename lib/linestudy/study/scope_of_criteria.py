"""Which of several tables of criteria holds for a characteristic: the nearest to it.

Conventions that a number is computed by (how many standard deviations a gauge's spread counts) are in
the same tables as the criteria it is held against, so that both come from one source. Who computes
reads them here; what they are weaker than is the verdict's to say.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from linestudy.study.load import Study
    from linestudy.study.model import Characteristic, Criteria, CriteriaKeys


def layers_of(
    given: Criteria | None, characteristic: Characteristic | None
) -> tuple[CriteriaKeys, ...]:
    """List the tables of criteria that hold for a characteristic, the nearest to it last.

    Parameters
    ----------
    given : Criteria or None
        The [criteria] table of study.toml.
    characteristic : Characteristic or None
        Its class ([criteria.special] or [criteria.other]) and its own ``criteria`` come on top.

    Returns
    -------
    tuple of CriteriaKeys
    """
    layers: list[CriteriaKeys | None] = [given]
    if characteristic is not None:
        layers.append(getattr(given, "special" if characteristic.special else "other", None))
        layers.append(characteristic.criteria)
    return tuple(layer for layer in layers if layer is not None)


def convention(study: Study, characteristic: Characteristic, key: str, usual: float) -> float:
    """Return a number that a finding is computed by.

    Parameters
    ----------
    study : Study
    characteristic : Characteristic
    key : str
        Of a table of criteria, for example ``"grr_multiplier"``.
    usual : float
        Where no table sets it.

    Returns
    -------
    float
    """
    found = usual
    for layer in layers_of(study.criteria, characteristic):
        own = getattr(layer, key)
        found = found if own is None else float(own)
    return found
