"""Numbers as they are spoken, and sentences put one after the other."""

from __future__ import annotations

from fractions import Fraction

from assistant.words.language import Spelt, in_force, number, say

__all__ = ["capital", "decimal", "number", "sentences"]


def capital(text: str) -> str:
    """With its first letter large, the others as they are."""
    large = text[:1].upper() + text[1:]
    return Spelt(large, capital(text.english)) if isinstance(text, Spelt) else large


def decimal(value: Fraction) -> str:
    """ "seventeen point one": one place, and no place where the value is whole."""
    tenths = round(abs(value) * 10)
    whole, tenth = divmod(tenths, 10)
    if tenth and in_force().written:
        return f"{whole}.{tenth}"
    if not tenth:
        return number(whole)
    return say("{whole} point {places}", whole=number(whole), places=number(tenth))


def sentences(*parts: str) -> str:
    """Whole sentences one after the other; an empty one is left out."""
    return " ".join(part.strip() for part in parts if part.strip())
