"""How a p-value is recognised in a caution."""

from __future__ import annotations

import re

import pytest

from linestudy.dossier.content.cautions.kinds import P
from linestudy.results.rounding import p_text


@pytest.mark.parametrize("p", [0.0, 1e-9, 0.0004, 0.0011, 0.034, 0.05, 0.2, 0.99, 1.0])
def test_every_p_value_is_recognised_as_it_is_printed(p: float) -> None:
    found = re.fullmatch(rf".*\({P}\): .*", f"Something differs ({p_text(p)}): look at it.")
    assert found is not None
    assert found[1] == p_text(p)
