"""The trade's terms: what each means, its symbol, its formula and where it stands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from linestudy.simulate.term_places import FUNCTIONS

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class Term:
    """One term of the trade."""

    name: str
    symbol: str
    meaning: str
    formula: str
    source: str


TERMS = (
    Term(
        "capability index, overall",
        "Pp",
        "room for the whole spread between the limits",
        "(U - L) / (6 s)",
        "ISO 22514-2",
    ),
    Term(
        "capability index, overall, nearer limit",
        "Ppk",
        "room on the nearer side",
        "min(U - m, m - L) / (3 s)",
        "ISO 22514-2",
    ),
    Term(
        "capability index, within",
        "Cp",
        "Pp with the spread within subgroups",
        "(U - L) / (6 s_within)",
        "ISO 22514-2",
    ),
    Term(
        "capability index, within, nearer limit",
        "Cpk",
        "Ppk with the spread within subgroups",
        "min(U - m, m - L) / (3 s_within)",
        "ISO 22514-2",
    ),
    Term(
        "index about a target",
        "Cpm",
        "spread about the target instead of the mean",
        "(U - L) / (6 sqrt(s^2 + (m - T)^2))",
        "Chan, Cheng & Spiring, Journal of Quality Technology 20 (1988)",
    ),
    Term(
        "quantile index",
        "Ppk",
        "index of any distribution by its outer quantiles",
        "min((U - x50)/(x99.865 - x50), (x50 - L)/(x50 - x0.135))",
        "ISO 22514-4",
    ),
    Term(
        "profile likelihood",
        "",
        "range of a number over all parameters that explain the values nearly as well as the best ones do",
        "2 (l_max - l) <= F(1, n - k) n / (n - k)",
        "Venzon & Moolgavkar, Applied Statistics 37 (1988)",
    ),
    Term(
        "gauge repeatability and reproducibility",
        "GRR",
        "spread of readings of one part by all people",
        "sqrt(EV^2 + AV^2)",
        "AIAG MSA, 4th ed.",
    ),
    Term(
        "repeatability",
        "EV",
        "spread of repeated readings under the same conditions",
        "sqrt(MS_error)",
        "AIAG MSA, 4th ed.",
    ),
    Term(
        "reproducibility",
        "AV",
        "spread between people, with their interaction with parts",
        "sqrt((MS_A - MS_PA) / (parts x trials))",
        "AIAG MSA, 4th ed.",
    ),
    Term(
        "number of distinct categories",
        "ndc",
        "how many kinds of part a gauge tells apart",
        "1.41 PV / GRR",
        "AIAG MSA, 4th ed.",
    ),
    Term(
        "gauge capability",
        "Cg",
        "a fifth of the tolerance over six spreads on one master",
        "0.2 T / (6 s)",
        "common practice in the manner of ISO 22514-7",
    ),
    Term(
        "gauge capability with bias",
        "Cgk",
        "the same with the bias taken off",
        "(0.1 T - |bias|) / (3 s)",
        "common practice in the manner of ISO 22514-7",
    ),
    Term(
        "bias",
        "b",
        "mean reading less the reference value",
        "mean(x) - reference",
        "AIAG MSA, 4th ed.",
    ),
    Term(
        "linearity",
        "",
        "whether the bias changes with size",
        "slope of bias on reference",
        "AIAG MSA, 4th ed.",
    ),
    Term(
        "limits of agreement",
        "",
        "hold 95 % of single differences of two gauges",
        "mean(d) +/- 1.96 s_d",
        "Bland & Altman, Lancet 327 (1986)",
    ),
    Term(
        "expanded uncertainty",
        "U",
        "half width of what a reading may be off by",
        "k sqrt(sum of u_i^2)",
        "GUM, JCGM 100:2008",
    ),
    Term(
        "measurement process ratio", "Q_MP", "uncertainty over tolerance", "2 U / T", "ISO 22514-7"
    ),
    Term(
        "guard band",
        "g",
        "taken from each limit before a part is called conforming",
        "1.645 u for 95 %",
        "ISO 14253-1:2017",
    ),
    Term(
        "consumer's risk",
        "",
        "bad parts accepted over all parts",
        "integral of density x P(accepted), outside",
        "JCGM 106:2012",
    ),
    Term(
        "producer's risk",
        "",
        "good parts rejected over all parts",
        "integral of density x P(rejected), inside",
        "JCGM 106:2012",
    ),
    Term(
        "kappa",
        "kappa",
        "agreement beyond what chance gives",
        "(p_o - p_e) / (1 - p_e)",
        "Cohen, Educational and Psychological Measurement 20 (1960)",
    ),
    Term(
        "average run length",
        "ARL",
        "points until a chart signals, on average",
        "1 / P(signal) for one rule",
        "ISO 7870-1",
    ),
    Term(
        "exponentially weighted moving average",
        "EWMA",
        "chart with a memory that fades",
        "z_t = w x_t + (1 - w) z_(t-1)",
        "ISO 7870-6",
    ),
    Term(
        "cumulative sum",
        "CUSUM",
        "chart that adds up what exceeds an allowance",
        "C_t = max(0, C_(t-1) + x_t - k)",
        "ISO 7870-4",
    ),
    Term(
        "time-dependent model",
        "A1 ... D",
        "how location and spread move with time",
        "",
        "ISO 22514-2",
    ),
    Term(
        "parts per million nonconforming",
        "ppm",
        "expected parts outside the limits",
        "10^6 (F(L) + 1 - F(U))",
        "ISO 22514-2",
    ),
    Term(
        "one-sided lower bound",
        "",
        "the index is at least that large, at the whole confidence",
        "low end of the two-sided interval of confidence 2 c - 1",
        "Owen, Technometrics 10 (1968)",
    ),
    Term(
        "z of a share",
        "z",
        "standard deviations of a normal distribution that leave the share beyond one limit",
        "-Phi^-1(p)",
        "ISO 22514-2 (z as the distance from a limit)",
    ),
    Term(
        "tolerance interval",
        "",
        "range that holds a stated share of all parts at a stated confidence",
        "between order statistics",
        "Wilks, Annals of Mathematical Statistics 12 (1941); ISO 16269-6",
    ),
    Term(
        "machine performance",
        "Pm, Pmk",
        "Pp and Ppk of a short run with nothing touched",
        "(U - L) / (6 s); min(U - m, m - L) / (3 s)",
        "ISO 22514-3",
    ),
    Term(
        "position",
        "",
        "diameter on which an axis lies around where it should be",
        "2 sqrt(x^2 + y^2)",
        "ISO 1101; ISO 22514-6 for its index",
    ),
    Term(
        "maximum-material bonus",
        "",
        "by how much a zone grows as the feature departs from its maximum-material size",
        "|size - maximum-material size|",
        "ISO 2692",
    ),
    Term(
        "effective number of parts",
        "n_eff",
        "independent parts that serially correlated ones are worth",
        "n / (1 + 2 sum r_k)",
        "Bayley & Hammersley, Supplement to the JRSS 8 (1946)",
    ),
    Term(
        "confidence interval",
        "",
        "range that holds the truth in the stated share of studies",
        "",
        "Neyman, Philosophical Transactions A 236 (1937)",
    ),
    Term(
        "control limit",
        "UCL, LCL",
        "limit of a chart, from what the process does; says whether it stays as it is",
        "centre line ± 3 standard errors",
        "ISO 7870-2",
    ),
    Term(
        "tolerance limit",
        "U, L",
        "limit of the drawing, from what the customer needs; says whether a part is good",
        "",
        "ISO 3534-2",
    ),
    Term(
        "rational subgroup",
        "",
        "parts between which only common causes act; what is to be found stands between subgroups",
        "",
        "Shewhart, Economic Control of Quality (1931); ISO 7870-1",
    ),
    Term(
        "common cause, special cause",
        "",
        "what acts on every part, and what acts on some and can be named",
        "",
        "ISO 3534-2",
    ),
    Term(
        "false alarm",
        "",
        "a point out of control of a process in which nothing happened",
        "expected: points × share beyond the limits by chance",
        "ISO 7870-1",
    ),
    Term(
        "p-value",
        "p",
        "how often data at least as far from a supposition come about where it is true",
        "",
        "ISO 3534-1",
    ),
    Term(
        "resolution",
        "",
        "smallest difference that a gauge shows",
        "rounding adds step^2 / 12 to the variance",
        "AIAG MSA, 4th ed., ch. I section E; Sheppard, Proc. London Math. Soc. 29 (1898)",
    ),
    Term(
        "mixture",
        "",
        "values of several streams or states together, which no single curve describes",
        "",
        "ISO 22514-2",
    ),
    Term(
        "autocorrelation",
        "r_k",
        "correlation of a part with the k-th after it",
        "",
        "Box & Jenkins, Time Series Analysis (1970)",
    ),
    Term(
        "operating characteristic",
        "OC",
        "chance that a decision says yes, against what is true",
        "",
        "ISO 3534-2",
    ),
)

#: The labs that show what a term means, by their numbers.
LABS = {
    "confidence interval": "1",
    "control limit": "10",
    "tolerance limit": "10",
    "rational subgroup": "12",
    "common cause, special cause": "10, 20",
    "false alarm": "7",
    "average run length": "7",
    "p-value": "14",
    "resolution": "21",
    "mixture": "12, 22",
    "autocorrelation": "2, 19",
    "effective number of parts": "2",
    "guard band": "16",
    "parts per million nonconforming": "24",
    "repeatability": "5, 23",
    "operating characteristic": "17",
    "capability index, overall, nearer limit": "1, 2, 8",
    "capability index, within, nearer limit": "2",
}


def glossary() -> pd.DataFrame:
    """List the terms of the trade with symbol, meaning, formula and source.

    Returns
    -------
    pandas.DataFrame
        Of text; columns ``term, symbol, meaning, formula, lab, function, source``, in the order of the alphabet.

    See Also
    --------
    linestudy.simulate.check : Check an answer to an exercise of the labs.

    Examples
    --------
    >>> terms = glossary().set_index("symbol")
    >>> print(terms.loc["Pm, Pmk", "formula"])
    (U - L) / (6 s); min(U - m, m - L) / (3 s)
    """
    import pandas as pd

    rows = sorted(TERMS, key=lambda term: term.name)
    return pd.DataFrame(
        [
            (
                t.name,
                t.symbol,
                t.meaning,
                t.formula,
                LABS.get(t.name, ""),
                FUNCTIONS.get(t.name, ""),
                t.source,
            )
            for t in rows
        ],
        columns=["term", "symbol", "meaning", "formula", "lab", "function", "source"],
    )
