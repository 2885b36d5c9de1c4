"""What was altered on the way to the plates, in words."""

from __future__ import annotations

from artcheck.domain.separation import Change
from artcheck.report.job_words import change_lines

SPECKS = "Dots of Snow smaller than 1.5 pt taken out"


def test_changes_of_one_kind_are_one_line_that_counts_its_places() -> None:
    changes = [
        Change(what=SPECKS, where=(60, 120, 66, 126)),
        Change(what=f"{SPECKS} (3 of them)", where=(300, 600, 340, 660)),
        Change(what=f"{SPECKS} (8 more elsewhere)", where=None),
        Change(what="Fade printed in flat inks", where=(0, 300, 600, 600)),
    ]
    assert list(change_lines(changes, 600)) == [
        f"{SPECKS}: 12 places, the first 0.20 in from the left and 0.10 in down",
        "Fade printed in flat inks, 0.50 in from the left and 0.00 in down",
    ]


def test_a_change_without_a_place_is_told_as_it_is() -> None:
    (line,) = change_lines([Change(what="Traps left out", where=None)], 600)
    assert line == "Traps left out"
