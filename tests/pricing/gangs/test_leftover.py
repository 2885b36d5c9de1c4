"""What goes into the space that a sheet has over."""

from __future__ import annotations

from artcheck.pricing.gangs import Design, fill_leftover, sheet_of_copies
from artcheck.pricing.gangs.designs import check_gang
from artcheck.pricing.sheets import copies_on_sheet

PEWTER, RED = frozenset({"Pewter"}), frozenset({"Red"})
FRONT = Design(name="front", width_in=12, height_in=11, quantity=56, inks=PEWTER)
TAG = Design(name="neck tag", width_in=3.5, height_in=2, quantity=1000, inks=PEWTER)
SLEEVE = Design(name="sleeve", width_in=2, height_in=2, quantity=1, inks=PEWTER)


def test_neck_tags_in_the_strip_below_a_front() -> None:
    # The free strip is 12 x 3.75 in: five tags of 3.5 x 2 in, turned.
    sheet = sheet_of_copies(copies_on_sheet((12, 15), (12, 11), gutter=0.25), FRONT)
    full = fill_leftover(sheet, [TAG])
    assert full.copies_of(TAG) == 5
    assert full.placements[:1] == sheet.placements
    assert full.covered > sheet.covered


def test_the_order_of_preference_and_the_quantity_count() -> None:
    sheet = sheet_of_copies(copies_on_sheet((12, 15), (12, 11), gutter=0.25), FRONT)
    full = fill_leftover(sheet, [SLEEVE, TAG])
    assert full.copies_of(SLEEVE) == 1
    assert full.copies_of(TAG) == 4


def test_another_ink_stays_off() -> None:
    sheet = sheet_of_copies(copies_on_sheet((12, 15), (12, 11), gutter=0.25), FRONT)
    red = Design(name="red", width_in=1, height_in=1, quantity=9, inks=RED)
    assert fill_leftover(sheet, [red]) == sheet


def test_a_full_sheet_takes_nothing() -> None:
    six = Design(name="six", width_in=6, height_in=6, quantity=8, inks=PEWTER)
    full = sheet_of_copies(copies_on_sheet((12, 12), (6, 6)), six)
    assert fill_leftover(full, [TAG]) == full


def test_every_corner_is_found() -> None:
    # A pinwheel of four 3 x 2 leaves one square inch in the middle and nothing else.
    wheel = Design(name="w", width_in=3, height_in=2, quantity=4)
    dot = Design(name="dot", width_in=1, height_in=1, quantity=9)
    sheet = sheet_of_copies(copies_on_sheet((5, 5), (3, 2)), wheel)
    full = fill_leftover(sheet, [dot])
    assert full.copies_of(dot) == 1
    check_gang(full)
