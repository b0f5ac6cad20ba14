"""Where each term of the trade lives in the kit: the function that computes it, the labs that show it, the test that holds it.

Together with `terms.TERMS`, which have the words, this is the one glossary of the project: the notebooks and the site are made
from it.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Place:
    """Where a term lives.

    Attributes
    ----------
    function : str
        Function or class below ``linestudy``; empty for what is no number of its own.
    labs : tuple of int
        Numbers of the labs that show what it means.
    test : str
        In the project: what holds it against a source outside, or against simulation.
    """

    function: str = ""
    labs: tuple[int, ...] = ()
    test: str = ""


#: By the names of `terms.TERMS`, in their order.
PLACES = {
    "capability index, overall": Place(
        function="capability.process_capability", labs=(2,), test="tests/capability/test_indices.py"
    ),
    "capability index, overall, nearer limit": Place(
        function="capability.process_capability",
        labs=(1, 2, 8),
        test="tests/capability/test_indices.py",
    ),
    "capability index, within": Place(
        function="capability.cp", test="tests/capability/test_indices.py"
    ),
    "capability index, within, nearer limit": Place(
        function="capability.cpk", labs=(2,), test="tests/capability/test_indices.py"
    ),
    "index about a target": Place(
        function="capability.cpm", test="tests/capability/test_indices.py"
    ),
    "quantile index": Place(
        function="capability.quantile_index",
        labs=(6,),
        test="tests/capability/test_quantile_indices.py",
    ),
    "profile likelihood": Place(
        function="capability.quantile_intervals", test="tests/shape/test_profile.py"
    ),
    "gauge repeatability and reproducibility": Place(
        function="gauges.grr_anova", labs=(4, 15), test="tests/gauges/grr/test_analysis.py"
    ),
    "repeatability": Place(
        function="gauges.grr_anova", labs=(5, 23), test="tests/gauges/grr/test_mean_squares.py"
    ),
    "reproducibility": Place(
        function="gauges.grr_anova", labs=(5,), test="tests/gauges/grr/test_mean_squares.py"
    ),
    "number of distinct categories": Place(
        function="gauges.grr_anova", labs=(5, 15), test="tests/gauges/grr/test_analysis.py"
    ),
    "gauge capability": Place(
        function="gauges.cg_cgk", test="tests/gauges/masters/test_repeatability.py"
    ),
    "gauge capability with bias": Place(
        function="gauges.cg_cgk", test="tests/gauges/masters/test_repeatability.py"
    ),
    "bias": Place(
        function="gauges.bias_study", labs=(9,), test="tests/gauges/masters/test_bias.py"
    ),
    "linearity": Place(
        function="gauges.linearity_study", test="tests/gauges/masters/test_linearity.py"
    ),
    "limits of agreement": Place(
        function="gauges.method_comparison",
        labs=(9,),
        test="tests/gauges/comparison/test_two_gauges.py",
    ),
    "expanded uncertainty": Place(
        function="gauges.uncertainty_budget", test="tests/gauges/budget/test_expanded.py"
    ),
    "measurement process ratio": Place(
        function="gauges.uncertainty_budget", test="tests/gauges/budget/test_expanded.py"
    ),
    "guard band": Place(
        function="gauges.conformity_risk", labs=(16,), test="tests/gauges/budget/test_risk_study.py"
    ),
    "consumer's risk": Place(
        function="gauges.conformity_risk",
        labs=(4, 16),
        test="tests/gauges/budget/test_verdict_shares.py",
    ),
    "producer's risk": Place(
        function="gauges.conformity_risk",
        labs=(4, 16),
        test="tests/gauges/budget/test_verdict_shares.py",
    ),
    "kappa": Place(
        function="gauges.judgement_agreement",
        labs=(18,),
        test="tests/gauges/judgement/test_judgements.py",
    ),
    "average run length": Place(
        function="stability.average_run_length",
        labs=(7,),
        test="tests/stability/charts/test_run_lengths.py",
    ),
    "exponentially weighted moving average": Place(
        function="stability.ewma_chart", test="tests/stability/charts/test_ewma_cusum.py"
    ),
    "cumulative sum": Place(
        function="stability.cusum_chart", test="tests/stability/charts/test_ewma_cusum.py"
    ),
    "time-dependent model": Place(
        function="stability.time_model", test="tests/stability/model/test_time_dependent_model.py"
    ),
    "parts per million nonconforming": Place(
        function="capability.normal_nonconforming",
        labs=(24,),
        test="tests/capability/test_nonconforming.py",
    ),
    "one-sided lower bound": Place(
        function="capability.process_capability",
        labs=(8, 17),
        test="tests/capability/test_study.py",
    ),
    "z of a share": Place(),
    "tolerance interval": Place(
        function="capability.tolerance_intervals", test="tests/capability/test_tolerance.py"
    ),
    "machine performance": Place(
        function="capability.machine_performance", test="tests/capability/test_short_run.py"
    ),
    "position": Place(
        function="capability.position_capability", test="tests/capability/round_zone/test_study.py"
    ),
    "maximum-material bonus": Place(
        function="capability.position_capability", test="tests/capability/round_zone/test_study.py"
    ),
    "effective number of parts": Place(
        function="stability.autocorrelation",
        labs=(2,),
        test="tests/stability/movement/test_serial_correlation.py",
    ),
    "confidence interval": Place(labs=(1,), test="tests/proof/REPORT.md"),
    "control limit": Place(
        function="stability.control_chart",
        labs=(10, 11),
        test="tests/stability/charts/test_shewhart.py",
    ),
    "tolerance limit": Place(labs=(10,), test="tests/simulate/labs/test_control.py"),
    "rational subgroup": Place(
        function="stability.control_chart", labs=(12,), test="tests/simulate/labs/test_control.py"
    ),
    "common cause, special cause": Place(labs=(10, 20), test="tests/simulate/labs/test_control.py"),
    "false alarm": Place(
        function="stability.run_length",
        labs=(7,),
        test="tests/stability/charts/test_run_lengths.py",
    ),
    "p-value": Place(
        function="shape.normality_tests", labs=(14,), test="tests/shape/test_normality.py"
    ),
    "resolution": Place(
        function="gauges.resolution_study",
        labs=(21,),
        test="tests/gauges/masters/test_reading_step.py",
    ),
    "mixture": Place(
        function="shape.select_distribution",
        labs=(12, 22),
        test="tests/simulate/labs/test_control.py",
    ),
    "autocorrelation": Place(
        function="stability.autocorrelation",
        labs=(2, 19),
        test="tests/stability/movement/test_serial_correlation.py",
    ),
    "operating characteristic": Place(
        function="plan.chance_to_show", labs=(17,), test="tests/proof/OPERATING.md"
    ),
    "truncated sample": Place(
        function="capability.truncated_capability",
        labs=(3,),
        test="tests/capability/sorting/test_truncation.py",
    ),
    "over-adjustment": Place(labs=(11,), test="tests/simulate/labs/test_control.py"),
    "regression to the mean": Place(labs=(13,), test="tests/simulate/labs/test_control.py"),
    "range": Place(
        function="stability.control_chart",
        labs=(25,),
        test="tests/stability/charts/test_shewhart.py",
    ),
    "destructive test": Place(
        function="gauges.nested_components", labs=(23,), test="tests/simulate/labs/test_gauges.py"
    ),
}

#: The labs' notebooks by their numbers.
LAB_FILES = (
    "1_what_an_interval_is",
    "2_why_neighbours_overstate_cpk",
    "3_good_because_sorted",
    "4_gauge_that_eats_the_tolerance",
    "5_what_three_trials_tell",
    "6_non_normal_is_not_wrong",
    "7_rules_and_false_alarms",
    "8_sample_size_before_the_run",
    "9_vision_against_cmm",
    "10_control_against_specification",
    "11_over_adjustment",
    "12_subgroups_and_streams",
    "13_best_of_several",
    "14_normality_and_size",
    "15_parts_that_do_not_span",
    "16_guard_band",
    "17_operating_characteristic",
    "18_kappa_of_rare_defects",
    "19_rows_in_another_order",
    "20_wear_against_signals",
    "21_steps_of_the_gauge",
    "22_two_stations_in_one_histogram",
    "23_tests_that_destroy_the_part",
    "24_observed_against_expected",
    "25_range_against_standard_deviation",
)


def lab_name(number: int) -> str:
    """Return the title of a lab with its number; file names have lower-case letters only."""
    name = LAB_FILES[number - 1].replace("_", " ")
    return name.replace("cmm", "CMM").replace("cpk", "Cpk")
