"""What a user writes, held to strict types by ``test_user_types``."""

from __future__ import annotations

import matplotlib.pyplot as plt
import numpy as np
import pandas as pd

import linestudy as ls
from linestudy.results import CannotJudge, Interval


def index_of(values: pd.Series[float]) -> float:
    found = ls.capability.process_capability(values.to_numpy(), 7.9, 8.1, unit="mm")
    index = found.Ppk
    return index.low if isinstance(index, Interval) else float("nan")


def gauge_is_adequate(readings: pd.DataFrame) -> bool:
    study = ls.gauges.grr_anova(readings, tolerance=0.2)
    share = study.components["grr"].share_of_tolerance
    return isinstance(share, Interval) and share.high < 0.3


def masters(readings: list[float]) -> str:
    try:
        found = ls.gauges.cg_cgk(readings, 8.0, tolerance=0.2)
    except CannotJudge as why:
        return str(why)
    return f"{found.Cg.low:.2f} {found.statement}"


def report(folder: str) -> None:
    evaluation = ls.dossier.evaluate(folder)
    for characteristic in evaluation.study.characteristics:
        decision = evaluation.findings[characteristic.id, "verdict"]
        if isinstance(decision, ls.verdict.CharacteristicVerdict):
            print(characteristic.name, decision.decision)


def main() -> None:
    rng = np.random.default_rng(1)
    print(index_of(pd.Series(rng.normal(8.0, 0.01, 125))))
    chart = ls.stability.control_chart(rng.normal(8.0, 0.01, (25, 5)))
    print(chart, chart.table())
    _, (left, right) = plt.subplots(1, 2)
    chart.plot(left)
    shape = ls.shape.select_distribution(rng.normal(8.0, 0.01, 125))
    shape.plot(right)
    print(shape.chosen.family)


if __name__ == "__main__":
    main()
