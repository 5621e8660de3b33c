"""What is written in the log: one entry for one job done, or one event, at one site."""

from __future__ import annotations

import datetime as dt
import uuid
from typing import Annotated

from pydantic import AfterValidator, BeforeValidator, Field, ValidationInfo, field_validator

from routing.farm.basics import Frozen
from routing.farm.values import LONGEST_ID, LONGEST_NAME, LONGEST_NOTE, text_up_to
from routing.farm.written_forms import sensible
from routing.farm.year_words import SEEN

KEEP_YEARS = 5
"""Records of medicines are kept at least so long, even where the colony is dead or sold.

Source: Veterinary Medicines Regulations 2013 as set out by Cheshire BKA and the National Bee Unit (pbka.info). Where
the farm is under another law, that law rules.
"""

MEDICINE_CAUTION = (
    "The product's label and the law where you are come before this log: dose, season, supers off, withdrawal. "
    f"Keep the record at least {KEEP_YEARS} years, also for colonies dead or sold, with the proof of purchase."
)
DISEASE_CAUTION = (
    "Suspect brood: close the hive, reduce its entrance, clean what you used, move nothing off the site and call the "
    "bee inspector. Mark the site last_of_day. The inspector and the law where you are decide."
)


def _written_out(value: object) -> object:
    """Let no bare number through, which would be read as seconds since some midnight."""
    if isinstance(value, str) and not set("-:") & set(value):
        raise ValueError("write a day as 2026-12-31 and a time as 07:30")
    return value


def _local(time: dt.time) -> dt.time:
    if time.tzinfo is not None:
        raise ValueError("is a time of another zone: write the local time, 07:30")
    return time.replace(microsecond=0)


_stripped = BeforeValidator(lambda text: text.strip() if isinstance(text, str) else text)
Name = Annotated[str, Field(max_length=LONGEST_NAME), AfterValidator(text_up_to(LONGEST_NAME)), _stripped]
Word = Annotated[str, Field(min_length=1, max_length=LONGEST_ID), AfterValidator(text_up_to(LONGEST_ID)), _stripped]
Note = Annotated[
    str, Field(max_length=LONGEST_NOTE), AfterValidator(text_up_to(LONGEST_NOTE, many_lines=True)), _stripped
]
Day = Annotated[dt.date, AfterValidator(sensible), BeforeValidator(_written_out)]
Clock = Annotated[dt.time, AfterValidator(_local), BeforeValidator(_written_out)]


class Medicine(Frozen):
    """What the law asks to be written down about a medicine."""

    product: Name = Field(min_length=1)
    batch: Name = Field(min_length=1)
    dose: Name = ""
    """As on the label: `2 strips a hive`."""
    amount: Name = ""
    """How much was used in all."""
    withdrawal_days: int | None = Field(default=None, ge=0, le=3650)
    days_in: int | None = Field(default=None, ge=1, le=365)
    """How long the label says that strips stay in."""
    colonies: Name = ""
    """Which colonies were treated."""
    given_by: Name = ""
    bought_on: Day | None = None
    supplier: Name = ""
    disposed_on: Day | None = None
    disposal: Name = ""
    """How what was left was disposed of."""

    @property
    def missing(self) -> tuple[str, ...]:
        """What the law asks for and is not written here."""
        asked = {
            "dose": self.dose,
            "amount used": self.amount,
            "withdrawal": self.withdrawal_days is not None,
            "which colonies": self.colonies,
            "date of purchase": self.bought_on,
            "supplier": self.supplier,
        }
        return tuple(name for name, given in asked.items() if not given)


class Entry(Frozen):
    """One job done, or one event, at one site."""

    reference: Word = Field(default_factory=lambda: uuid.uuid4().hex)
    """Its own name, the same in every copy of the log: an entry that comes twice is kept once."""
    date: Day
    time: Clock | None = None
    """Local time at which the work was finished."""
    site: Word
    kind: Word
    """A job kind, or an event such as `storm`."""
    minutes: float | None = Field(default=None, ge=0, le=2880, allow_inf_nan=False)
    """On site for this job; those of all jobs of one stop add up to the whole visit."""
    crew: Name = ""
    people: int | None = Field(default=None, ge=1, le=20)
    hives: int | None = Field(default=None, ge=0, le=5000)
    partly: bool = False
    """Begun but not done: it stays due."""
    stores_kg: float | None = Field(default=None, ge=0, le=100, allow_inf_nan=False)
    """Stores of an average colony there, as hefted or weighed."""
    queen_cells: int | None = Field(default=None, ge=0, le=10_000)
    seen: tuple[str, ...] = ()
    seen_in: dict[str, Annotated[int, Field(ge=1, le=5000)]] = Field(default_factory=dict)
    """In how many colonies, of what was seen; what is not here was seen in a number that nobody wrote down."""
    materials: dict[Word, Annotated[float, Field(ge=0, le=1_000_000, allow_inf_nan=False)]] = Field(
        default_factory=dict
    )
    """Units used of each material."""
    note: Note = ""
    medicine: Medicine | None = None

    @field_validator("seen", mode="after")
    @classmethod
    def _known(cls, seen: tuple[str, ...]) -> tuple[str, ...]:
        for word in seen:
            if word not in SEEN:
                raise ValueError(f"{word!r} is none of " + ", ".join(SEEN))
        return tuple(word for word in SEEN if word in seen)

    @field_validator("seen_in", mode="after")
    @classmethod
    def _of_what_was_seen(cls, seen_in: dict[str, int], info: ValidationInfo) -> dict[str, int]:
        for word in seen_in:
            if word not in info.data.get("seen", ()):
                raise ValueError(f"{word!r} has a number and was not seen")
        return {word: seen_in[word] for word in SEEN if word in seen_in}


class Cancellation(Frozen):
    """One due date that the farmer set aside by name."""

    rule: Word
    site: Word
    due: Day
    closes_on: Day
    """The due dates up to here count as closed."""
    date: Day
    """When it was cancelled."""
    why: Note = Field(min_length=1)


class SetAside(Frozen):
    """One row of the log that cannot be read as what it should be, and so counts for nothing."""

    what: str
    """`entry`, `cancellation` or `beginning`."""
    number: int
    """Of the row, in the file."""
    why: str
    held: str = ""
    """What the row says of when, where and what, as far as it can be shown."""

    def __str__(self) -> str:
        return f"{self.what} {self.number} ({self.held}): {self.why}"


class Record(Frozen):
    """All that the log holds that was not undone, oldest first."""

    entries: tuple[Entry, ...] = ()
    cancellations: tuple[Cancellation, ...] = ()
    counts_from: dt.date | None = None
    """From when the log is complete, as the farmer said; None where nobody did: then from its oldest entry."""
    set_aside: tuple[SetAside, ...] = ()
    """Rows that nothing here was taken from."""

    @field_validator("entries", mode="after")
    @classmethod
    def _oldest_first(cls, entries: tuple[Entry, ...]) -> tuple[Entry, ...]:
        """Put entries by date and time; of one moment they stay as they were written."""
        return tuple(sorted(entries, key=lambda entry: (entry.date, entry.time or dt.time.min)))

    @property
    def begun(self) -> dt.date | None:
        """The day from which the log counts: whether what fell due before was done is not known. None without a log."""
        return self.counts_from or (self.entries[0].date if self.entries else None)
