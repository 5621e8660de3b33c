"""The plan as it is shown and saved, and the answer to `fit`: frozen, timed, in the farmer's words."""

from routing.round.breach import Breach, Rule
from routing.round.fit import FitAnswer, FitProof
from routing.round.left_out import Insertion, LeftOut, ReasonCode, Remedy, RemedyKind, Shortfall
from routing.round.numbers import (
    DayNumbers,
    MaterialAmount,
    NumbersBase,
    NumbersJob,
    NumbersMaterial,
    NumbersMove,
    NumbersNear,
    NumbersStop,
    NumbersWindow,
)
from routing.round.quality import Chance, ChanceSpread, EvenDays, Proof, SurestOrder
from routing.round.round import SCHEMA_VERSION, Round, Start
from routing.round.stops import (
    Break,
    CallIn,
    Drive,
    Itinerary,
    LoadItem,
    LoadList,
    PlannedJob,
    SetDown,
    Stop,
    StoppingPlace,
)

__all__ = [
    "SCHEMA_VERSION",
    "Breach",
    "Break",
    "CallIn",
    "Chance",
    "ChanceSpread",
    "DayNumbers",
    "Drive",
    "EvenDays",
    "FitAnswer",
    "FitProof",
    "Insertion",
    "Itinerary",
    "LeftOut",
    "LoadItem",
    "LoadList",
    "MaterialAmount",
    "NumbersBase",
    "NumbersJob",
    "NumbersMaterial",
    "NumbersMove",
    "NumbersNear",
    "NumbersStop",
    "NumbersWindow",
    "PlannedJob",
    "Proof",
    "ReasonCode",
    "Remedy",
    "RemedyKind",
    "Round",
    "Rule",
    "SetDown",
    "Shortfall",
    "Start",
    "Stop",
    "StoppingPlace",
    "SurestOrder",
]
