"""Numbers that a practice study holds, and whether a reason rests on one of them.

No program can say whether a reason is a good one. It can say whether the sentence bears a number of this study, which a
sentence made of keywords does not.
"""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from linestudy.results import CannotJudge
from linestudy.simulate.practice.line import FEATURES

if TYPE_CHECKING:
    import pandas as pd

#: A number as people write it: grouped by commas, or with a point or comma before its decimals.
_NUMBER = re.compile(r"(?:\d{1,3}(?:,\d{3})+(?!\d)(?:\.\d+)?|\d+(?:[.,]\d+)?)(?: ?%)?")
#: A sentence has at least so many words, and no more than so many numbers: a list of all of them is no reason.
WORDS, NUMBERS = 5, 8
#: What is asked is in every study, and shows nothing of this one.
_ASKED = ("1.67", "1.33")
#: What rounding on the way may change, beside the last digit written.
_SHARE = 0.02
#: How far an index by another distribution, or its lower bound, may lie below and above those that are computed here.
_BELOW, _ABOVE = 0.8, 1.05


@dataclass(frozen=True)
class Held:
    """What a study holds about something that is decided.

    Attributes
    ----------
    numbers : tuple of float
        Indices, spreads, %GRR, bias, counts and shares.
    index : tuple of float
        Between which its index lies, whatever the distribution; empty where there is none.
    """

    numbers: tuple[float, ...] = ()
    index: tuple[float, ...] = ()


def numbers_of_study(folder: Path) -> dict[str, Held]:
    """Compute what a reader may find in a practice study.

    Parameters
    ----------
    folder : pathlib.Path

    Returns
    -------
    dict of str to Held
        By what is decided; empty where a file cannot be read.
    """
    import pandas as pd

    found: dict[str, Held] = {}
    try:
        study = tomllib.loads((folder / "study.toml").read_text(encoding="utf-8"))
        run = pd.read_csv(folder / "data" / "run.csv")
        for item in study["characteristic"]:
            if item["id"] in FEATURES:
                found[item["id"]] = _measured(item, run, folder / "data")
        judged = pd.read_csv(folder / "data" / "appearance.csv")
        found["appearance"] = Held(_finite(_judged(judged)))
        found["record"] = Held(_finite(_record(study, run, folder / "data")))
    except (OSError, ValueError, LookupError, TypeError, AttributeError, ArithmeticError):
        # A student who took a file apart has no numbers there; what was changed is reported beside the grade.
        pass
    return found


def rests_on(
    reason: str, numbers: Iterable[float], index: tuple[float, ...] = (), *, share: float = _SHARE
) -> bool:
    """Check whether one of the numbers is in a reason.

    Parameters
    ----------
    reason : str
    numbers : iterable of float
    index : tuple of float
        Least and largest index: a number with decimals between them will do, for readers take other distributions.
    share : float
        How far a number may be off, relative to it, beside the last digit that is written.

    Returns
    -------
    bool
        Whatever the sign, as a share or in per cent, to the digits that are written.

    Examples
    --------
    >>> [rests_on(text, (2.483,)) for text in ("the index is 2.5", "248 % of it", "an index of 1.67", "2 of them")]
    [True, True, False, False]
    """
    true = [abs(number) for number in numbers]
    for text in numbers_in(reason):
        per_cent = text.endswith("%")
        text = text.rstrip(" %")
        grouped = re.fullmatch(r"\d{1,3}(?:,\d{3})+(?:\.\d+)?", text) is not None
        plain = text.replace(",", "") if grouped else text.replace(",", ".")
        if plain in _ASKED:
            continue
        written = float(plain)
        decimals = len(plain.partition(".")[2])
        # A single digit is a count, and exact; only as a per cent is it rounded.
        exact = decimals == 0 and written < 10 and not per_cent
        off = 0.0 if exact else 0.5 * 10.0**-decimals
        if decimals and index and index[0] <= written <= index[1]:
            return True
        for number in true:
            for each in (number, 100 * number):
                if abs(written - each) <= off + share * each * (not exact) and (written or not number):  # fmt: skip
                    return True
    return False


def numbers_in(reason: str) -> list[str]:
    """List the numbers in a text as they are written; a digit within a word, as in C4, is none."""
    return [found.group() for found in _NUMBER.finditer(re.sub(r"[^\W\d_]+\d+", " ", reason))]


def _finite(numbers: Iterable[Any]) -> tuple[float, ...]:
    return tuple(float(number) for number in numbers if math.isfinite(float(number)))


def _measured(item: dict[str, Any], run: pd.DataFrame, data: Path) -> Held:
    import pandas as pd

    name = item["id"]
    drawn = pd.read_csv(data / "drawing.csv").set_index("characteristic").loc[name]
    x = run[name]
    lower, upper = item.get("lower", -np.inf), item["upper"]
    found = [x.count(), x.mean(), x.std(), x.skew(), x.min(), x.max(), x.isna().sum(), x.isna().mean()]  # fmt: skip
    found += [int(((x > upper) | (x < lower)).sum()), np.nanmedian(x)]
    found.append(float(np.corrcoef(x.dropna()[1:], x.dropna()[:-1])[0, 1]))
    indices = _indices(x, drawn["lower"], drawn["upper"])
    for part in (x, *(x[run["lane"] == lane] for lane in run["lane"].unique())):
        found.append(part.std())
        indices += _indices(part, lower, upper)
    reach = (_BELOW * min(indices), _ABOVE * max(indices)) if indices else ()
    gauge = _gauge(data, name, upper - item.get("lower", 0.0), x.std())
    return Held(_finite([*found, *indices, *gauge]), reach)


def _indices(x: pd.Series, lower: float, upper: float) -> list[float]:
    """Compute Ppk from mean and SD, and from the observed quantiles."""
    if len(x) < 50:
        return []
    sides = [upper - x.mean()] + ([x.mean() - lower] if np.isfinite(lower) else [])
    low, middle, high = x.quantile([0.00135, 0.5, 0.99865])
    own = [(upper - middle) / (high - middle)]
    own += [(middle - lower) / (middle - low)] if np.isfinite(lower) else []
    return [min(sides) / (3 * x.std()), min(own)]


def _gauge(data: Path, name: str, width: float, sd: float) -> list[float]:
    import pandas as pd

    from linestudy.gauges import grr_anova

    found = []
    crossed = pd.read_csv(data / f"crossed_{name}.csv")
    try:
        study = grr_anova(
            crossed, part="part", appraiser="appraiser", tolerance=width, draws=100, seed=1
        )
        grr = study.components["GRR"].sd
        spread = float(grr.estimate if hasattr(grr, "estimate") else grr)
        parts = crossed.groupby("part")["value"].mean().std()
        found += [6 * spread / width, 1.41 * parts / spread, 1.41 * sd / spread, spread]
    except (CannotJudge, KeyError, ZeroDivisionError):
        pass
    masters = pd.read_csv(data / f"masters_{name}.csv")
    off = masters["value"] - masters["reference"]
    drift = pd.read_csv(data / f"drift_{name}.csv")
    slope = np.polyfit(drift["stroke"] / 1000, drift["value"] - drift["reference"], 1)[0]
    bends = np.polyfit(masters["reference"], off, 1)[0]
    return [*found, off.mean(), off.mean() / width, bends, slope, slope / width]


def _judged(table: pd.DataFrame) -> list[float]:
    found: list[float] = [len(table), table["part"].nunique()]
    bad = table["reference"] == "nok"
    wrong = table["judgement"] != table["reference"]
    found += [table.loc[bad, "part"].nunique(), table.loc[~bad, "part"].nunique()]
    for who in table["appraiser"].unique():
        own = table["appraiser"] == who
        for those in (own & bad, own & ~bad, own):
            found += [wrong[those].sum(), wrong[those].mean(), 1 - wrong[those].mean()]
        chance = float(
            sum(
                (table.loc[own, "judgement"] == word).mean()
                * (table.loc[own, "reference"] == word).mean()
                for word in ("ok", "nok")
            )
        )
        found.append((1 - wrong[own].mean() - chance) / (1 - chance) if chance < 1 else 1.0)
        distinct = table[own].groupby("part")["judgement"].nunique()
        right = ~wrong[own].groupby(table.loc[own, "part"]).any()
        found += [right.sum(), right.mean(), (distinct == 1).mean()]
    return found


def _record(study: dict[str, Any], run: pd.DataFrame, data: Path) -> list[float]:
    import pandas as pd

    bins = pd.read_csv(data / "bins.csv")
    due = pd.Timestamp(study["gauge"][0]["due"])
    left = (due - pd.Timestamp(study["study"]["date"])).days
    rejected, unlike = int((run["verdict"] == "nok").sum()), run["image"].nunique()
    found = [len(run), unlike, len(run) - unlike, left, (np.diff(run["image"]) < 0).sum()]
    found += [bins["good"].sum(), bins["scrap"].sum(), rejected, len(run) - rejected]
    return [*found, bins["scrap"].sum() - rejected, run["stroke"].max(), run["coil"].nunique(), 0.0]
