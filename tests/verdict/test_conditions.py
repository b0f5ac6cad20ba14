"""What stands beside a decision, and the counts to hold against records of one's own."""

from __future__ import annotations

from dataclasses import replace

from linestudy.verdict import CharacteristicFacts, ProcessFacts, resolve, rule_on
from linestudy.verdict.claims import CharacteristicVerdict
from linestudy.verdict.conditions import conditions_of, conditions_of_study, own_records
from linestudy.verdict.criteria import Criterion
from linestudy.verdict.facts import IndexFacts, RecordFacts

RECORD = RecordFacts(
    rows=1000,
    left_out={"no reading": 3, "verdict purged: not product": 20},
    first=1.0,
    last=1040.0,
    numbers_missing=40,
    gaps=2,
    longest_gap=(200.0, 236.0),
    pause=(900.0, 236.0),
    coils=("K1", "K2"),
    not_recorded=("clock",),
    settings=("readings are declared in lbf and multiplied by 4.44822 to give N",),
    masters=(1.0, 2.0),
    study_parts=(10.0, 0.9, 2.1, 0.5),
)
FACTS = CharacteristicFacts(
    name="Width", limits="1 to 2 mm", unit="mm", process=ProcessFacts(n=977, sd=0.1), record=RECORD
)


def test_each_departure_from_the_usual_is_one_sentence() -> None:
    said = "\n".join(conditions_of(FACTS, (Criterion("ndc_min", 2.0, "Customer"),)))
    assert "Readings are declared in lbf and multiplied by 4.44822 to give N." in said
    assert "23 readings of 1,000 left out (2.3 %): no reading 3, verdict purged 20." in said
    assert "40 order numbers are missing in 2 places, the longest gap from 200 to 236." in said
    assert "The clock stands still for 15 minutes before order number 236." in said
    assert "The readings carry no clock." in said
    assert "spread 5 times as much as those of the run" in said
    assert "Criterion weaker than usual: ndc, at least 2 instead of 5 (source: Customer)." in said


def test_nothing_is_said_of_a_record_without_anything_unusual() -> None:
    assert conditions_of(replace(FACTS, record=RecordFacts(rows=977)), resolve().weaker) == ()


def test_counts_stand_once_and_name_whom_they_differ_for() -> None:
    other = replace(FACTS, name="Length", record=replace(RECORD, masters=(7.0,)))
    found = own_records([FACTS, other]).groupby("what")["in this study"].agg(list)
    assert found["coils"] == ["2: K1, K2"]
    assert found["masters"] == ["Width: 1, 2 mm", "Length: 7 mm"]
    assert found["strokes"] == ["1 to 1,040"]
    assert found["readings"] == ["977 of 1,000 rows"]


def test_first_and_last_reading_of_the_gauge_study_are_there_to_compare() -> None:
    found = own_records([replace(FACTS, record=replace(RECORD, study_readings=(1.203, 1.4)))])
    line = found[found["what"] == "parts of the gauge study"].iloc[0]
    assert line["in this study"] == "10 parts from 0.90 to 2.10 mm; first reading 1.203, last 1.400"
    assert line["hold against"] == (
        "the parts, kept with their numbers, and the gauge's own record of every study made"
    )
    without = own_records([FACTS]).set_index("what").loc["parts of the gauge study"]
    assert "reading" not in without["in this study"]


def test_people_and_readings_of_masters_are_there_to_compare() -> None:
    """One who reads under three names, and masters that nobody read, show in no number of the study."""
    record = replace(RECORD, study_people=("Ada", "Ben"), master_readings=(1.003, 1.998))
    found = own_records([replace(FACTS, record=record)]).set_index("what")
    people, masters = found.loc["people of the study"], found.loc["masters"]
    assert people["in this study"] == "2: Ada, Ben"
    assert masters["in this study"] == "1, 2 mm; first reading 1.003, last 1.998"
    assert masters["hold against"] == "their certificates, and the gauge's own record"
    alone = replace(FACTS, record=replace(record, study_people=("Ada",)))
    assert "people of the study" not in set(own_records([alone])["what"])


def test_few_readings_and_filtered_ones_are_told() -> None:
    index = IndexFacts("Ppk", 1.9, 1.6, 1.9)
    few = replace(FACTS, index=index, process=ProcessFacts(n=125, sd=0.1, neighbours=0.5))
    (said,) = [text for text in conditions_of(few) if "rare" in text]
    assert said.startswith(
        "125 readings do not show what is rare: parts of another kind, up to 2.4%"
    )
    assert not [text for text in conditions_of(few) if "filtered" in text]
    many = replace(few, process=ProcessFacts(n=900, sd=0.1, neighbours=0.31))
    assert [text for text in conditions_of(many) if "correlate by 0.31" in text]
    assert not [text for text in conditions_of(many) if "rare" in text]


def test_a_counter_of_which_few_numbers_were_read_says_so() -> None:
    sample = replace(FACTS, record=replace(RECORD, rows=200))
    found = own_records([sample]).set_index("what")["in this study"]
    assert found["strokes"] == "1 to 1,040, 200 rows for 1,040 numbers"


def of_study(*about: tuple[str, RecordFacts]) -> tuple[str, ...]:
    criteria = resolve()
    facts = [replace(FACTS, name=name, record=record) for name, record in about]
    return conditions_of_study(
        CharacteristicVerdict.of(rule_on(one, criteria), criteria) for one in facts
    )


def test_a_condition_is_named_after_those_it_holds_for() -> None:
    """Unless it holds for all, or for every characteristic of a run of several."""
    run = RecordFacts(rows=977, first=1.0, last=977.0)
    paused = replace(run, pause=(900.0, 236.0))
    alone = RecordFacts(rows=20, settings=("a word on the gauge",))
    other = RecordFacts(rows=20)
    word, pause = "A word on the gauge.", "The clock stands still for 15 minutes"

    def said(found: tuple[str, ...], what: str) -> str:
        return next(text for text in found if what in text)

    assert said(of_study(("Width", alone), ("Length", alone)), word) == word
    assert said(of_study(("A", paused), ("B", paused), ("C", other)), pause).startswith(pause)
    # As many as are in the run, and not those: one of two, with the counter of the other.
    assert said(of_study(("Width", run), ("Force", alone)), word) == f"Force: {word}"
    assert said(of_study(("Width", paused), ("Force", other)), pause).startswith(f"Width: {pause}")
    assert said(of_study(("A", run), ("B", paused), ("C", other)), pause).startswith("B: ")


def test_what_was_left_out_is_said_once_and_first() -> None:
    lost = RecordFacts(rows=1000, left_out={"no reading": 3}, settings=("a word on the gauge",))
    found = of_study(("Width", lost), ("Length", lost))
    assert found == (
        "Left out of up to 1,000 readings of a characteristic: no reading: 3.",
        "A word on the gauge.",
    )


def test_extremes_stand_with_their_places_and_parts_beyond_them_are_told() -> None:
    record = replace(
        RECORD,
        first_readings=(1.5,),
        last_readings=(1.4,),
        extremes=(1.2, 1.8),
        extremes_at=(17.0, 1020.0),
    )
    run = ProcessFacts(n=977, sd=0.1, smallest=1.2, largest=1.8)
    found = replace(FACTS, record=record, process=run)
    told = own_records([found]).set_index("what")["in this study"]
    assert told["smallest and largest reading"] == "1.2 (17); 1.8 (1,020) mm"
    said = "\n".join(conditions_of(found))
    assert "(0.90 to 2.10) lie beyond all 977 readings of the run (1.20 to 1.80)" in said
    within = replace(record, study_parts=(10.0, 1.3, 1.7, 0.1))
    assert "lie beyond" not in "\n".join(conditions_of(replace(found, record=within)))
