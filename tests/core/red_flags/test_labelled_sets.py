"""Floors on the labelled sets: what the reader reached when this was written, less a margin.

The sets that widened the lexicon flatter it; ``apart`` was written without sight of it and is the
honest one. A fall below a floor is a regression; reaching it proves nothing by itself.
"""

import pytest

from tests.redflags import load

LOUD = ("emergency", "urgent")


def shares(reader, name, step=1):
    """Caught, emergencies high enough, loud false alarms, questions about harmless texts."""
    rows = load(name)[::step]
    levels = [reader.read(row.text).level.value for row in rows]
    pairs = list(zip(rows, levels, strict=True))
    positive = [level for row, level in pairs if row.label != "none"]
    urgent = [level for row, level in pairs if row.label == "emergency"]
    harmless = [level for row, level in pairs if row.label == "none"]
    return (
        sum(level != "none" for level in positive) / max(1, len(positive)),
        sum(level in ("emergency", "ask") for level in urgent) / max(1, len(urgent)),
        sum(level in LOUD for level in harmless) / max(1, len(harmless)),
        sum(level == "ask" for level in harmless) / max(1, len(harmless)),
    )


@pytest.mark.parametrize(
    ("name", "step", "caught", "emergencies", "loud", "asked"),
    [
        ("public", 1, 0.98, 0.97, 0.02, 0.08),
        ("own_positive", 4, 0.97, 0.95, 0.0, 0.0),
        ("own_harmless", 4, 0.0, 0.0, 0.03, 0.10),
    ],
)
def test_the_whole_reader_keeps_its_floor(
    whole_reader, name, step, caught, emergencies, loud, asked
):
    got_caught, got_emergencies, got_loud, got_asked = shares(whole_reader, name, step)

    assert got_caught >= caught
    assert got_emergencies >= emergencies
    assert got_loud <= loud
    assert got_asked <= asked


@pytest.mark.parametrize(
    ("name", "caught", "emergencies"), [("breadth_a", 0.86, 0.85), ("breadth_b", 0.78, 0.72)]
)
def test_the_lexicon_alone_keeps_its_floor_on_the_widening_sets(reader, name, caught, emergencies):
    got_caught, got_emergencies, _, _ = shares(reader, name)

    assert got_caught >= caught
    assert got_emergencies >= emergencies


def test_the_lexicon_alone_keeps_its_floor_on_the_public_examples(reader):
    caught, emergencies, loud, asked = shares(reader, "public")

    assert caught >= 0.98
    assert emergencies >= 0.96
    assert loud <= 0.02
    assert asked <= 0.08


def test_the_labelled_set_is_large_and_a_part_was_written_apart():
    names = ("public", "breadth_a", "breadth_b", "harmless_b", "own_positive", "own_harmless")

    assert sum(len(load(name)) for name in (*names, "apart")) >= 1500
    assert len(load("apart")) >= 400
