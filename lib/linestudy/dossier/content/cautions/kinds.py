"""What the list of cautions holds of each: whom it is for, how it is recognised, and what the document says instead."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

#: Whom a caution is for.
Destination = Literal["condition", "method", "author", "rule"]


#: A p-value, as cautions print it.
P = r"(p [=<] ?[^)]*)"


@dataclass(frozen=True)
class CautionKind:
    """One kind of caution.

    Attributes
    ----------
    goes : str
        ``"condition"``, ``"method"``, ``"author"`` or ``"rule"``.
    pattern : str
        Regular expression for the whole of it.
    words : str
        What the document says instead; ``{1}`` stands for the pattern's first group. Of a condition: what was found.
    asks : str
        Of a condition: which of the document's actions it asks for.
    """

    goes: Destination
    pattern: str
    words: str = ""
    asks: str = ""
