"""What happened during a run, as study.toml tells it: periods taken out, events, causes and actions.

The kinds of text and number that all tables share are here too, below everything that uses them.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, model_validator

Text = Annotated[str, Field(min_length=1, max_length=20_000)]
Id = Annotated[str, Field(pattern=r"^[A-Za-z][A-Za-z0-9_-]{0,63}$")]
Number = Annotated[float, Field(allow_inf_nan=False)]


class Strict(BaseModel):
    """A table that takes no key it does not know."""

    model_config = ConfigDict(extra="forbid", frozen=True, str_strip_whitespace=False)


class SetAside(Strict):
    """A period of the run taken out on purpose, with its reason (both results are shown)."""

    reason: Text
    first: Number | None = None
    last: Number | None = None
    begin: Text | None = None
    end: Text | None = None
    characteristic: Id | None = None

    @model_validator(mode="after")
    def _names_a_period(self) -> SetAside:
        if self.first is None and self.last is None and self.begin is None and self.end is None:
            raise ValueError("needs first and last (order numbers) or begin and end (times)")
        if self.first is not None and self.last is not None and self.first > self.last:
            raise ValueError("first must not be after last")
        return self


class Event(Strict):
    """Something that happened during the run: coil change, regrind, lens wipe."""

    name: Text
    at: Number | None = None
    time: Text | None = None
    characteristic: Id | Annotated[tuple[Id, ...], Field(min_length=1)] | None = None
    stream: Text | Annotated[tuple[Text, ...], Field(min_length=1)] | None = None
    resets: bool | None = None

    @model_validator(mode="after")
    def _is_somewhere(self) -> Event:
        if self.at is None and self.time is None:
            raise ValueError("needs at (order number) or time")
        return self

    @property
    def streams(self) -> tuple[str, ...]:
        """Streams that it names; none where it concerns all."""
        return _several(self.stream)

    def concerns(self, characteristic: str, stream: str | None = None) -> bool:
        """Check whether the event bears on a characteristic, and on a stream where one is asked about."""
        named = _several(self.characteristic)
        return (not named or characteristic in named) and (
            stream is None or not self.streams or stream in self.streams
        )

    def restarts(self, characteristic: str, stream: str | None = None) -> bool:
        """Check whether the characteristic's wear or drift begins anew: the event names it alone, or says so."""
        if not self.concerns(characteristic, stream):
            return False
        return self.characteristic is not None if self.resets is None else self.resets

    def may_reset(self, characteristic: str) -> bool:
        """Check whether the level may change: the event concerns it, and nobody excludes a reset."""
        return self.concerns(characteristic) and self.resets is not False


def _several(names: str | tuple[str, ...] | None) -> tuple[str, ...]:
    """Return one name, several or none, as a tuple."""
    return () if names is None else (names,) if isinstance(names, str) else names


class Cause(Strict):
    """Why points lay outside the chart's limits, and what was done about it."""

    cause: Text
    action: Text
    by: Text
    date: Text | None = None
    at: Number | None = None
    first: Number | None = None
    last: Number | None = None
    characteristic: Id | None = None

    @model_validator(mode="after")
    def _is_somewhere(self) -> Cause:
        if self.at is None and (self.first is None or self.last is None):
            raise ValueError("needs at (order number), or first and last")
        if self.first is not None and self.last is not None and self.first > self.last:
            raise ValueError("first must not be after last")
        return self

    @property
    def stretch(self) -> tuple[float, float]:
        """First and last order number that the cause explains."""
        if self.first is not None and self.last is not None:
            return float(self.first), float(self.last)
        assert self.at is not None
        return float(self.at), float(self.at)
