"""Several designs together: sheets printed all alike, free layouts of film, leftover space."""

from artcheck.pricing.gangs.bought import BoughtGang, Laid, roll_ganged, sheets_ganged
from artcheck.pricing.gangs.designs import Design, GangSheet, Placement
from artcheck.pricing.gangs.free import RollGang, SheetGang, roll_gang, sheet_gang
from artcheck.pricing.gangs.leftover import fill_leftover, sheet_of_copies
from artcheck.pricing.gangs.money import GangPlan, cheapest_gangs
from artcheck.pricing.gangs.replicated import ReplicatedGang, Run, replicated_gang

__all__ = [
    "BoughtGang",
    "Design",
    "GangPlan",
    "GangSheet",
    "Laid",
    "Placement",
    "ReplicatedGang",
    "RollGang",
    "Run",
    "SheetGang",
    "cheapest_gangs",
    "fill_leftover",
    "replicated_gang",
    "roll_gang",
    "roll_ganged",
    "sheet_gang",
    "sheet_of_copies",
    "sheets_ganged",
]
