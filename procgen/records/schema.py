"""The record's one schema: the phone writes it, ``read_record`` reads it, the JSON Schema comes from it."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any, Literal

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field

NAME = "procgen-record"
VERSION = 1

#: an id as a template and its marks may give it, or as a phone makes one
Id = Annotated[str, Field(min_length=1, max_length=400)]
Text = Annotated[str, Field(max_length=200_000)]
Data = Annotated[str, Field(pattern=r"^data:image/[a-z+.-]+;base64,[A-Za-z0-9+/]*={0,2}$")]
Number = Annotated[float, Field(allow_inf_nan=False)]


class Closed(BaseModel):
    """Nothing but the fields named."""

    model_config = ConfigDict(extra="forbid", strict=True, populate_by_name=True)


class Entry(Closed):
    """What every entry says. Order is by ``seq``, a count that goes on where a record is taken in."""

    id: Id
    time: AwareDatetime = Field(strict=False, description="when, in the time of the place, with its offset")
    changed: AwareDatetime | None = Field(None, strict=False, description="last change")
    seq: int = Field(ge=0, description="count of the record; clocks may go back, it does not")
    device: Id = Field(description="the phone, by a random name")
    edition: str = Field(description="edition of the guide that was read while this was entered")


class Tick(Entry):
    """A step done; ``print`` is the fingerprint of the text it was done by."""

    kind: Literal["tick"]
    step: Id
    print: Id
    open: list[Id] | None = Field(None, description="readings missing or outside at that moment")


class Untick(Entry):
    """A tick taken back."""

    kind: Literal["untick"]
    step: Id


class Confirm(Entry):
    """A hold point confirmed by a named person; ``print`` covers every step it guards."""

    kind: Literal["confirm"]
    hold: Id
    print: Id
    name: Annotated[str, Field(min_length=2, max_length=200)]
    role: Id
    licence: str | None = None
    open: list[Id] | None = None


class Unconfirm(Entry):
    """A confirmation taken back."""

    kind: Literal["unconfirm"]
    hold: Id


class Reading(Entry):
    """Something measured: as typed, in SI, with the limits and the verdict of that moment."""

    kind: Literal["reading"]
    reading: Id
    step: Id
    quantity: Id = Field(description="kind of quantity")
    typed: Annotated[str, Field(min_length=1, max_length=80)]
    unit: str
    si: Number
    beyond: Literal["", ">", "<"] = ""
    verdict: Literal[
        "low", "high", "inside", "under", "over", "expected", "below", "above", "target", "noted", "unsure"
    ]
    low: Number | None
    high: Number | None
    target: Number | None
    limits_text: str
    questioned: bool = Field(description="not plausible, and kept as read all the same")


class Draft(Entry):
    """A figure that is being typed."""

    kind: Literal["draft"]
    of: Id
    typed: str
    unit: str


class Remark(Entry):
    """A remark on a step, or on the whole work."""

    kind: Literal["remark"]
    step: Id | None
    text: Text


class Start(Entry):
    """A timer started; ``at`` is the phone's clock in milliseconds since 1970."""

    kind: Literal["start"]
    timer: Id
    step: Id
    at: Number


class Run(Entry):
    """A pump run began or ended."""

    kind: Literal["run"]
    timer: Id
    start: Id
    state: Literal["begin", "end"]
    at: Number


class Stop(Entry):
    """A timer stopped; ``elapsed`` in seconds, less what the clock was moved by."""

    kind: Literal["stop"]
    timer: Id
    step: Id
    start: Id
    at: Number
    elapsed: Annotated[Number, Field(ge=0)]
    runs: int | None = Field(None, ge=0)


class Clock(Entry):
    """The phone's clock jumped by ``jump`` milliseconds; the timer counts without ``delta`` of it."""

    kind: Literal["clock"]
    start: Id
    timer: Id
    delta: Number
    jump: Number
    how: Literal["changed", "slept"]


class Photo(Entry):
    """A photo, made smaller."""

    kind: Literal["photo"]
    step: Id
    name: str
    type: str
    size: int = Field(ge=0)
    data: Data


class Signature(Entry):
    """A signature drawn by finger."""

    kind: Literal["signature"]
    name: Annotated[str, Field(min_length=2, max_length=200)]
    data: Data


class Person(Entry):
    """Who works with a phone."""

    kind: Literal["person"]
    name: str
    role: Id
    licence: str


class Carry(Entry):
    """Work of another edition came along; ``dropped`` are the items whose text had changed."""

    kind: Literal["carry"]
    from_: str = Field(alias="from")
    entries: int = Field(ge=0)
    dropped: list[Id]


class Received(Entry):
    """Another phone's record was taken in."""

    kind: Literal["received"]
    from_: str = Field(alias="from")
    entries: int = Field(ge=0)
    of_edition: str
    dropped: list[Id]


class Remove(Entry):
    """An entry taken out of sight (a photo); it stays in the file."""

    kind: Literal["remove"]
    ref: Id


AnyEntry = Annotated[
    Tick
    | Untick
    | Confirm
    | Unconfirm
    | Reading
    | Draft
    | Remark
    | Start
    | Run
    | Stop
    | Clock
    | Photo
    | Signature
    | Person
    | Carry
    | Received
    | Remove,
    Field(discriminator="kind"),
]


class Record(Closed):
    """What a technician did and measured with one edition of one guide."""

    schema_: Literal["procgen-record"] = Field(alias="schema")
    version: Literal[1]
    guide: Id
    title: str
    edition: str
    exported: AwareDatetime = Field(strict=False)
    device: Id
    started: AwareDatetime | None = Field(strict=False)
    entries: list[AnyEntry]
    aside: list[Any] = Field(description="what the phone could not read and kept as it was")

    @property
    def first(self) -> datetime | None:
        """When the first entry was made, by the clock of the phone that made it."""
        return min((entry.time for entry in self.entries), default=None)


def json_schema() -> dict[str, Any]:
    """JSON Schema (2020-12) of a record's file."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **Record.model_json_schema(by_alias=True),
    }
