"""What is said is read out, and what goes wrong in a callback is said."""

from __future__ import annotations

import pytest

from linestudy.results import InputError
from linestudy.study_form.parts import Says, of_whom, text, tick


@pytest.mark.parametrize(
    ("error", "told"),
    [
        (ValueError("there is no < here."), "there is no &lt; here."),
        (InputError("a.csv", "is empty", "give another"), "a.csv: is empty; give another."),
        (KeyError("x"), "An error nobody foresaw: KeyError"),
    ],
)
def test_an_error_is_a_sentence(error: Exception, told: str) -> None:
    says = Says()

    def fails() -> None:
        raise error

    says.guarded(fails)()
    assert told in says.widget.value
    assert 'role="alert"' in says.widget.value
    says.right("Done.")
    assert 'role="status"' in says.widget.value
    says.nothing()
    assert says.widget.value == ""


def test_every_field_has_a_label_also_where_none_is_seen() -> None:
    assert text("Upper limit of Burr", bare=True).description == "Upper limit of Burr"
    assert "ls-bare" in text("Upper limit of Burr", bare=True)._dom_classes
    assert tick("Burr is special", True, bare=True).description == "Burr is special"


def test_whose_a_field_is_is_read_out_and_is_no_markup() -> None:
    field = of_whom(text("Unit & more"), "a <b>.csv")
    assert field.description_allow_html
    assert field.description == 'Unit &amp; more<span class="ls-whose">, a &lt;b&gt;.csv</span>'
