"""Every method of the package against R: base R, lme4 and nlme, or formulas written out there (reference/gauges.R)."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy.stats import norm
from scipy.stats import t as student_t

from linestudy import gauges
from linestudy.gauges.comparison.outlying_laboratories import cochran_p, grubbs_p
from linestudy.gauges.grr.assumptions import equal_repeatability, shares_of_freedom
from linestudy.gauges.grr.own_scales import own_factor
from linestudy.gauges.judgement.weighted_agreement import weighted_kappa, weights_of
from linestudy.gauges.masters.bias import _welch
from linestudy.gauges.masters.uncertain_references import johansen_p
from linestudy.results import Interval

HERE = Path(__file__).parent / "reference"
FOUND: dict[str, dict[str, float]] = json.loads((HERE / "gauges.json").read_text())
BESIDE: dict[str, dict[str, float]] = json.loads((HERE / "beside.json").read_text())
SCALES: dict[str, dict[str, float]] = json.loads((HERE / "own_scales.json").read_text())
UNEQUAL: dict[str, dict[str, float]] = json.loads((HERE / "unequal.json").read_text())
OTHERS: dict[str, dict[str, float]] = json.loads((HERE / "masters_and_budget.json").read_text())
R = str(FOUND.pop("made_with"))  # type: ignore[arg-type]


def table(name: str) -> pd.DataFrame:
    return pd.read_csv(HERE / f"{name}.csv")


def is_(interval: Any, value: float, low: float, high: float, rel: float = 1e-8) -> None:
    assert isinstance(interval, Interval)
    assert interval.estimate == pytest.approx(value, rel=rel)
    assert (interval.low, interval.high) == pytest.approx((low, high), rel=rel)


@pytest.mark.checks(
    "components of crossed studies, also with empty cells and a third factor", source="R, lme4"
)
@pytest.mark.parametrize(
    ("name", "factor"), [("crossed_even", None), ("crossed_gaps", None), ("crossed_three", "day")]
)
def test_crossed(name: str, factor: str | None) -> None:
    expected = FOUND[name]
    data = table(name)
    if factor:
        data["day"] = data["day"].astype(str)
    found = gauges.grr_anova(
        data, appraiser="who", factor=factor, pool_above=None, draws=0, method="mls"
    ).components
    names = {
        "part": "part",
        "appraiser": "who",
        "interaction": "part:who",
        "repeatability": "Residual",
    }
    if factor:
        names |= {"factor": "day", "part_factor": "part:day", "appraiser_factor": "who:day"}
        names |= {"part_appraiser_factor": "part:who:day"}
    total = sum(expected.values())
    seen = {key.replace(":", "_"): value for key, value in found.items()}
    for own, theirs in names.items():
        assert seen[own].variance.estimate == pytest.approx(expected[theirs], abs=2e-6 * total)


@pytest.mark.checks("a destructive test whose testers share batches", source="R, lme4")
def test_testers_who_share_batches() -> None:
    data = table("crossed_even").rename(columns={"part": "batch", "who": "appraiser"})
    found, expected = gauges.destructive_grr(data), FOUND["crossed_even"]
    testers = expected["who"] + expected["part:who"]
    assert found.tester_sd.estimate == pytest.approx(math.sqrt(testers), rel=1e-5)
    assert found.batch_sd.estimate == pytest.approx(math.sqrt(expected["part"]), rel=1e-5)
    assert found.within_sd.estimate == pytest.approx(math.sqrt(expected["Residual"]), rel=1e-5)


@pytest.mark.checks(
    "repeatability behind coarse steps", source="R, integrate, optimize and uniroot"
)
def test_behind_steps() -> None:
    data = table("crossed_even")
    data["value"] = (data["value"] / 0.25).round() * 0.25
    found, expected = gauges.rounded_repeatability(data, appraiser="who"), BESIDE["behind_steps"]
    assert found.step == pytest.approx(0.25)
    is_(found.sd, expected["sd"], expected["low"], expected["high"], rel=1e-5)


@pytest.mark.checks("two systems on the same parts", source="R, t.test and qf")
def test_two_systems() -> None:
    data = table("crossed_even").query("who != 'C'").rename(columns={"who": "system"})
    pair = gauges.system_comparison(data, appraiser=None).pairs[0]
    expected = BESIDE["two_systems"]
    is_(pair.bias, expected["bias"], expected["low"], expected["high"])
    assert pair.bias_p == pytest.approx(expected["p"], rel=1e-8)
    ratio = pair.repeatability_ratio
    assert isinstance(ratio, Interval)
    assert ratio.estimate == pytest.approx(expected["ratio"], rel=1e-8)
    # Tails as these readings have them only widen the interval by F.
    assert ratio.low < expected["ratio_low"]
    assert ratio.high > expected["ratio_high"]


@pytest.mark.checks(
    "table of variance, effects of trial and size, ends of repeatability",
    source="R, anova and cor.test",
)
def test_what_stands_beside_the_components() -> None:
    found = gauges.grr_anova(table("crossed_even"), appraiser="who", pool_above=None)
    expected = FOUND["crossed_even_squares"]
    assert [row.ms for row in found.anova[:4]] == pytest.approx(
        [expected[key] for key in ("part", "appraiser", "interaction", "repeatability")], rel=1e-9
    )
    assert found.anova[2].p == pytest.approx(expected["interaction_p"], rel=1e-7)
    assert found.trial_effect is not None
    assert found.trial_effect.statistic == pytest.approx(FOUND["trial_effect"]["f"], rel=1e-9)
    assert found.trial_effect.p == pytest.approx(FOUND["trial_effect"]["p"], rel=1e-9)
    assert found.size_effect is not None
    assert found.size_effect.rank_correlation == pytest.approx(
        FOUND["size_effect"]["rho"], rel=1e-9
    )
    if found.tail_factor == 1:
        ends = FOUND["repeatability_ends"]
        sd = found.components["repeatability"].sd
        assert (sd.low, sd.high) == pytest.approx((ends["low"], ends["high"]), rel=1e-8)


@pytest.mark.checks("components of nested readings, unbalanced", source="R, lme4 and nlme")
def test_nested() -> None:
    found = gauges.nested_components(table("nested"), ("batch", "strip")).components
    for source in ("nested", "nested_nlme"):
        for own, theirs in (("batch", "batch"), ("strip", "strip"), ("repeatability", "Residual")):
            assert found[own].variance.estimate == pytest.approx(FOUND[source][theirs], rel=2e-5)


@pytest.mark.checks("bias over all masters and on one", source="R, t.test")
def test_bias() -> None:
    data = table("masters")
    found = gauges.bias_study(data["value"], data["reference"])
    expected = FOUND["bias"]
    is_(found.mean_bias, expected["mean"], expected["low"], expected["high"])
    assert (found.t, found.p) == pytest.approx((expected["t"], expected["p"]), rel=1e-7)
    one = found.masters[2]
    expected = FOUND["bias_of_10"]
    is_(one.bias, expected["mean"], expected["low"], expected["high"])
    assert one.p == pytest.approx(expected["p"], rel=1e-7)


@pytest.mark.checks("linearity, bias at the limits, lack of fit", source="R, lm, predict and anova")
def test_linearity() -> None:
    data = table("masters")
    found = gauges.linearity_study(data["value"], data["reference"], 9.6, 10.4)
    expected = FOUND["linearity"]
    is_(found.slope, *(expected[key] for key in ("slope", "slope_low", "slope_high")))
    assert found.intercept.estimate == pytest.approx(expected["intercept"], rel=1e-9)
    for own in ("r_squared", "residual_sd", "lack_of_fit_p"):
        assert getattr(found, own) == pytest.approx(expected[own], rel=1e-7)
    # R's test takes one common spread; where masters repeat unequally the p-value is larger, never smaller.
    common = 2 * student_t.sf(abs(found.slope_t), found.n - 2)
    assert common == pytest.approx(expected["slope_p"], rel=1e-7)
    assert common <= found.slope_p < 10 * common
    for name, at in found.at_limits.items():
        assert at.estimate == pytest.approx(expected[name], rel=1e-8)
        # Where masters repeat unequally the interval is wider than that of one common spread, never narrower.
        assert at.low <= expected[f"{name}_low"] + 1e-9
        assert at.high >= expected[f"{name}_high"] - 1e-9
        assert at.half_width < 1.5 * (expected[f"{name}_high"] - expected[name])


@pytest.mark.checks("drift under autocorrelation", source="R, nlme's gls with corAR1")
def test_drift() -> None:
    data = table("drift")
    found = gauges.drift_study(data["order"], data["value"], 10.0, resets=(6000.0, 12000.0))
    expected = FOUND["drift"]
    assert found.slope_per_thousand.estimate == pytest.approx(expected["ols_slope"], rel=1e-8)
    assert found.residual_sd == pytest.approx(expected["residual_sd"], rel=1e-8)
    # The kit keeps the line of least squares and widens its interval; gls weights the readings.
    assert (
        abs(found.slope_per_thousand.estimate - expected["gls_slope"]) < 0.25 * expected["gls_se"]
    )
    assert found.correlation == pytest.approx(expected["phi"], abs=0.15)
    half = found.slope_per_thousand.half_width
    assert 1.9 * expected["gls_se"] < half < 3.5 * expected["gls_se"]


@pytest.mark.checks(
    "lines through two gauges", source="R, Deming's and Passing and Bablok's formulas written out"
)
def test_lines_of_two_gauges() -> None:
    data = table("pairs")
    found = gauges.method_comparison(data["first"], data["second"], error_ratio=4.0)
    expected = FOUND["deming"]
    for name in ("slope", "intercept"):
        is_(
            found.deming[name],
            *(expected[f"{name}{end}"] for end in ("", "_low", "_high")),
            rel=1e-6,
        )
    line, _ = gauges.passing_bablok(data["first"], data["second"])
    expected = FOUND["passing_bablok"]
    is_(line["slope"], *(expected[f"slope{end}"] for end in ("", "_low", "_high")))
    assert line["intercept"].estimate == pytest.approx(expected["intercept"], rel=1e-6)


@pytest.mark.checks(
    "limits of agreement, intraclass correlation", source="R, qt noncentral; McGraw & Wong (1996)"
)
def test_agreement_of_two_gauges() -> None:
    data = table("pairs")
    found = gauges.method_comparison(data["first"], data["second"], error_ratio=4.0)
    expected = FOUND["agreement"]
    is_(found.mean_difference, *(expected[key] for key in ("mean", "low", "high")))
    is_(
        found.upper_limit, *(expected[f"upper_{key}"] for key in ("limit", "low", "high")), rel=1e-6
    )
    expected = FOUND["icc"]
    is_(found.icc, *(expected[key] for key in ("value", "low", "high")), rel=1e-6)


@pytest.mark.checks(
    "repeatability, reproducibility, Mandel's h and k, Cochran, Grubbs",
    source="R, anova; formulas of ISO 5725-2 written out",
)
def test_laboratories() -> None:
    data = table("laboratories")
    found = gauges.interlaboratory(data)
    for level in found.levels:
        expected = FOUND[f"laboratories_{level.part}"]
        assert level.repeatability_sd.estimate == pytest.approx(expected["s_r"], rel=1e-9)
        assert level.reproducibility_sd.estimate == pytest.approx(expected["s_R"], rel=1e-9)
        for name in "ABCDEF":
            assert level.h[name] == pytest.approx(expected[f"h.{name}"], rel=1e-8, abs=1e-9)
            assert level.k[name] == pytest.approx(expected[f"k.{name}"], rel=1e-8)
        h, k = np.array(list(level.h.values())), np.array(list(level.k.values()))
        assert grubbs_p(h) == pytest.approx(expected["grubbs_p"], rel=1e-7)
        assert cochran_p(k**2, 2) == pytest.approx(expected["cochran_p"], rel=1e-7)
    assert ("2", "E", "spread") in {
        (one.part, one.laboratory, one.kind) for one in found.stragglers
    }


@pytest.mark.checks("weighted kappa, Kendall's W", source="R, kappa written out; friedman.test")
def test_grades() -> None:
    data = table("grades").rename(columns={"who": "appraiser", "reference": "reference_grade"})
    found = gauges.graded_agreement(data, grades=("0", "1", "2", "3"))
    expected = FOUND["weighted_kappa"]
    assert found.kappa_with_reference["Ana"].estimate == pytest.approx(
        expected["quadratic_ana"], rel=1e-9
    )
    assert found.kappa_pairs["Ana and Ben"].estimate == pytest.approx(
        expected["quadratic_ana_ben"], rel=1e-9
    )
    linear = gauges.graded_agreement(data, grades=("0", "1", "2", "3"), weights="linear")
    assert linear.kappa_with_reference["Ana"].estimate == pytest.approx(
        expected["linear_ana"], rel=1e-9
    )
    by = data.pivot(index="part", columns="appraiser", values="grade").to_numpy(int)
    pair = weighted_kappa(
        [(np.eye(4)[by[:, 1]], np.eye(4)[by[:, 2]])], weights_of("linear", 4), 0.95
    )
    assert pair.estimate == pytest.approx(expected["linear_ben_cem"], rel=1e-9)
    assert found.concordance.w == pytest.approx(FOUND["kendall"]["w"], rel=1e-9)
    assert found.concordance.p == pytest.approx(FOUND["kendall"]["p"], rel=1e-7)


@pytest.mark.checks("rates of judgements, kappa", source="R, binom.test; kappa written out")
def test_judgements() -> None:
    data = table("grades").rename(columns={"who": "appraiser"})
    data["judgement"], data["reference"] = data["grade"] <= 1, data["reference"] <= 1
    found = gauges.judgement_agreement(data)
    expected = FOUND["judgements"]
    assert found.kappa_with_reference["Ben"].estimate == pytest.approx(
        expected["kappa_ben"], rel=1e-9
    )
    assert found.kappa_pairs["Ana and Ben"].estimate == pytest.approx(
        expected["kappa_ana_ben"], rel=1e-9
    )
    is_(
        found.effectiveness["Ben"],
        *(expected[f"effectiveness{end}"] for end in ("", "_low", "_high")),
    )
    assert found.miss["Ben"].estimate == pytest.approx(expected["miss"], rel=1e-9)
    assert found.false_alarm["Ben"].estimate == pytest.approx(expected["false_alarm"], rel=1e-9)


@pytest.mark.checks("where judgements turn", source="R, glm with probit")
def test_curve() -> None:
    data = table("curve")
    found = gauges.gauge_performance_curve(
        data["measured"].to_numpy(float), data["accepted"].to_numpy(bool), None, 0.08
    )
    side = found.sides["upper"]
    assert side.threshold.estimate == pytest.approx(FOUND["curve"]["threshold"], rel=1e-7)
    assert side.judgement_sd.estimate == pytest.approx(FOUND["curve"]["spread"], rel=1e-6)


@pytest.mark.checks(
    "strength by size: line, tolerance bound, batches, line below a tenth",
    source="R, lm, qt noncentral, nlme; all pairs tried",
)
def test_strength() -> None:
    data = table("pulls")
    found = gauges.strength_assurance(data["width"], data["force"], 60.0, lower=0.4)
    expected = FOUND["strength"]
    is_(found.slope, *(expected[f"slope{end}"] for end in ("", "_low", "_high")))
    assert found.intercept.estimate == pytest.approx(expected["intercept"], rel=1e-8)
    assert found.sd == pytest.approx(expected["sd"], rel=1e-9)
    assert found.at_limits["lower"] == pytest.approx(expected["bound_at_0.4"], rel=1e-7)
    assert isinstance(found.low_quantile_slope, Interval)
    assert found.low_quantile_slope.estimate == pytest.approx(
        FOUND["quantile_regression"]["slope"], rel=1e-4
    )
    mixed = gauges.strength_assurance(
        data["width"], data["force"], 60.0, batch=data["batch"], lower=0.4
    )
    expected = FOUND["strength_batches"]
    # Mean squares here, likelihood there: the same line within its error, the same spread within a few per cent.
    assert mixed.slope.estimate == pytest.approx(expected["slope"], abs=0.1 * expected["slope_se"])
    assert mixed.sd == pytest.approx(expected["total"], rel=0.05)
    assert mixed.batch_share == pytest.approx(expected["share"], abs=0.05)


@pytest.mark.checks("bad parts accepted, good parts rejected", source="R, integrate")
def test_wrong_verdicts() -> None:
    bad, good = gauges.global_risks(norm(0, 1).pdf, 0.3, -3.0, 3.0, guard_band=[0.0, 0.2])
    expected = FOUND["wrong_verdicts"]
    assert bad == pytest.approx([expected["bad_accepted"], expected["bad_with_guard"]], rel=1e-7)
    assert good == pytest.approx([expected["good_rejected"], expected["good_with_guard"]], rel=1e-7)


@pytest.mark.checks("Bartlett's test of appraisers", source="R, bartlett.test of linear models")
def test_appraisers_repeat_equally() -> None:
    found, expected = gauges.grr_anova(table("crossed_even"), appraiser="who"), OTHERS["bartlett"]
    equal = found.equal_repeatability
    assert equal is not None
    assert found.tail_factor == 1
    assert equal.df == expected["df"]
    assert (equal.statistic, equal.p) == pytest.approx(
        (expected["statistic"], expected["p"]), rel=1e-8
    )


@pytest.mark.checks("Cg, Cgk and their intervals", source="R, qchisq and pt noncentral")
def test_cg_and_cgk() -> None:
    data, expected = table("masters"), OTHERS["cg"]
    found = gauges.cg_cgk(data.loc[data["reference"] == 10, "value"], 10.0, 0.3)
    is_(found.Cg, *(expected[f"cg{end}"] for end in ("", "_low", "_high")))
    is_(found.Cgk, *(expected[f"cgk{end}"] for end in ("", "_low", "_high")), rel=1e-7)


@pytest.mark.checks(
    "budget of uncertainty: combined, its interval, degrees of freedom, guard band",
    source="R, GUM's formulas written out; Graybill & Wang (1980)",
)
def test_budget() -> None:
    lines = [
        gauges.Contribution("calibration", 0.03, sensitivity=2.0),
        gauges.Contribution("repeatability on parts", 0.05, 8),
        gauges.Contribution("appraiser", 0.02, 20),
    ]
    found, expected = gauges.uncertainty_budget(lines, 9.0, 11.0), OTHERS["budget"]
    is_(found.u_process, *(expected[key] for key in ("u", "low", "high")))
    assert found.effective_df == pytest.approx(expected["df"], rel=1e-9)
    assert found.guard_band == pytest.approx(expected["band"], rel=1e-8)
    tied = gauges.uncertainty_budget(
        lines, 9.0, 11.0, correlations={("repeatability on parts", "appraiser"): 0.5}
    )
    assert tied.u_process.estimate == pytest.approx(OTHERS["correlated"]["u"], rel=1e-10)


@pytest.mark.checks(
    "reproducibility of laboratories over all parts", source="R, anova; Graybill & Wang (1980)"
)
def test_laboratories_over_all_parts() -> None:
    found = gauges.interlaboratory(table("laboratories")).reproducibility_sd
    is_(found, *(OTHERS["laboratories"][key] for key in ("sd", "low", "high")))


def test_the_values_say_what_made_them() -> None:
    assert R.startswith("R 4")
    assert all(math.isfinite(value) for group in FOUND.values() for value in group.values())


@pytest.mark.checks(
    "own factor of an appraiser, trials of each, masters that disagree",
    source="R, lm and oneway.test",
)
def test_own_scales_against_r() -> None:
    even, masters = table("crossed_even"), table("masters")
    means = even.groupby(["part", "who"])["value"].mean().unstack()
    factor = own_factor(tuple(means.columns), means.to_numpy())
    assert factor is not None
    expected = SCALES["own_factor"]
    assert (factor.statistic, factor.p) == pytest.approx((expected["f"], expected["p"]), rel=1e-9)
    moved = gauges.grr_anova(even, appraiser="who", draws=0, method="mls").trial_effect
    assert moved is not None
    assert moved.by_appraiser_p == pytest.approx(SCALES["trials_of_each"]["p"], rel=1e-9)
    found = gauges.bias_study(masters["value"], masters["reference"])
    expected = SCALES["masters_agree"]
    assert _welch(found.masters) == pytest.approx((expected["f"], expected["p"]), rel=1e-9)


@pytest.mark.checks(
    "masters on a line with their own spreads, freedom of unequal appraisers, bias on correlated masters",
    source="R, weighted lm and hat values, eigenvalues, a covariance matrix",
)
def test_unequal_errors_against_r() -> None:
    masters, even = table("masters"), table("crossed_even")
    errors = masters["value"] - masters["reference"]
    groups = errors.groupby(masters["reference"])
    sizes, counts = groups.mean().index.to_numpy(), groups.size().to_numpy()
    p = johansen_p(sizes, groups.mean().to_numpy(), groups.var().to_numpy() / counts, counts - 1.0)
    assert p == pytest.approx(UNEQUAL["bent_by_master"]["p"], rel=1e-9)
    layout = gauges.grr_anova(even, appraiser="who", draws=0, method="mls").layout
    equal = equal_repeatability(layout, 0.95)
    assert equal is not None
    # However alike they are, the shares are the same formula.
    shares = shares_of_freedom(layout, replace(equal, p=0.0))
    assert shares == pytest.approx(tuple(UNEQUAL["box"].values()), rel=1e-9)
    found = gauges.bias_study(
        masters["value"],
        masters["reference"],
        reference_uncertainty=0.02,
        reference_correlation=0.6,
    ).mean_bias
    expected = UNEQUAL["together"]
    assert found.estimate == pytest.approx(expected["mean"], rel=1e-9)
    assert found.half_width == pytest.approx(expected["half"], rel=1e-9)
