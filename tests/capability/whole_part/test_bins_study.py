"""Bin counts against the log."""

from __future__ import annotations

import pandas as pd
import pytest

from linestudy.capability import (
    LoggedCounts,
    bin_counts,
)
from linestudy.results import CannotJudge


def test_bins_that_disagree_with_the_log_are_named() -> None:
    counts = pd.DataFrame(
        {"period": ["1", "2"], "accepted": [90, 95], "rejected": [5, 10], "purged": [1, 0]}
    )
    assert "same counts" in bin_counts(counts, logged=LoggedCounts(185, 15)).statement
    assert (
        "184 accepted and 16 rejected" in bin_counts(counts, logged=LoggedCounts(184, 16)).statement
    )
    with pytest.raises(CannotJudge, match="no part"):
        bin_counts(counts.assign(accepted=0, rejected=0))


def test_bins_without_purged_parts_have_none() -> None:
    counts = pd.DataFrame({"accepted": [90, 95], "rejected": [5, 10]})
    assert bin_counts(counts).purged == 0
    assert bin_counts(counts.assign(purged=[2, 1])).purged == 3
