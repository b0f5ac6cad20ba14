"""Judgements that one appraiser took over from another, trial by trial.

Model of honest judgements: whether an appraiser accepts a part depends on the part and on the appraiser; what they say
of it in single trials is independent of what others say in theirs. Of a part that both of two appraisers judged now
this way and now the other, equally often, each order of these judgements is as likely as any other: they are in
the same trials with probability one over the number of orders. Over all such parts the number of agreements has the
distribution of a sum of independent trials (exact), one-sided, over everyone held against one appraiser, who may be any.

Misleads where something common to a trial moves the judgements of all (another lamp), which asks for its reason
just as well. Parts that everyone judges always alike, right or wrong, show nothing.
"""

from __future__ import annotations

from math import comb
from typing import Any

import numpy as np

from linestudy.verdict.facts import Doubt


def copied_judgements(part: Any, appraiser: Any, trial: Any, judgement: Any) -> Doubt | None:
    """Test whether appraisers change their judgement of a part in the same trials.

    Parameters
    ----------
    part, appraiser, trial : array_like, shape (n,)
        Labels.
    judgement : array_like of bool, shape (n,)

    Returns
    -------
    Doubt or None
        None where no two appraisers changed their judgement of one part.

    Examples
    --------
    >>> import numpy as np
    >>> said = np.random.default_rng(1).random((20, 3)) < 0.5
    >>> part, trial = np.indices(said.shape)
    >>> twice = np.tile(part.ravel(), 2), np.repeat(["A", "B"], 60), np.tile(trial.ravel(), 2)
    >>> copied_judgements(*twice, np.tile(said.ravel(), 2)).p < 1e-4
    True
    """
    import pandas as pd

    frame = pd.DataFrame(
        {
            "part": np.asarray(part),
            "who": np.asarray(appraiser).astype(str),
            "trial": np.asarray(trial),
            "said": np.asarray(judgement, dtype=float),
        }
    ).dropna()
    if frame.duplicated(["part", "who", "trial"]).any():
        return None
    wide = frame.pivot(index="part", columns=["who", "trial"], values="said")
    people = sorted(frame["who"].unique())
    best, who = None, ""
    for first in people:
        chances, same = [], 0
        for other in people:
            if other == first:
                continue
            for a, b in zip(wide[first].to_numpy(), _like(wide, other, first), strict=True):
                both = np.isfinite(a) & np.isfinite(b)
                n, k = int(both.sum()), int(a[both].sum())
                if 0 < k < n and int(b[both].sum()) == k:
                    chances.append(1 / comb(n, k))
                    same += bool((a[both] == b[both]).all())
        if chances:
            p = min(_at_least(same, chances) * len(people), 1.0)
            if best is None or p < best:
                best, who = p, first
    if best is None:
        return None
    return Doubt(
        "copied judgements",
        best,
        f"others change their judgement of a part in the same trials as {who}",
    )


def _like(wide: Any, other: str, first: str) -> Any:
    """Return judgements of another appraiser in the trials that the first one has."""
    return wide[other].reindex(columns=wide[first].columns).to_numpy()


def _at_least(number: int, chances: list[float]) -> float:
    """Compute the chance that at least so many of several independent events occur."""
    shares = np.array([1.0])
    for chance in chances:
        shares = np.convolve(shares, [1 - chance, chance])
    return float(shares[number:].sum())
