"""The dangers of the work, said with every result."""

from __future__ import annotations

from firstfrost.refrigerants import refrigerant
from firstfrost.visit.result import Caution

_ALWAYS = (
    ("voltage", "Line voltage in the cabinet, and capacitors that hold it: switch off, lock out and test before touching; live readings only by qualified people with fit meters and protection."),
    ("fan", "The outdoor fan starts by itself after a defrost: keep hands and tools out of the blade's reach."),
    ("pressure", "The circuit is under pressure: never block or bridge a high-pressure switch or relief, and stop a forced defrost when the stop limit is near."),
    ("heat", "The discharge line burns skin; ice and water fall from the coil and make the ground slippery."),
    ("law", "The maker's instructions, local codes and licensed practice come first; only certified people open the circuit or handle refrigerant where the law asks it."),
)  # fmt: skip

_BY_CLASS = {
    "A2L": ("flammable", "This refrigerant is mildly flammable (A2L): no flame or spark, fresh air, and tools rated for it."),
    "A3": ("flammable", "This refrigerant is highly flammable (A3): only specially trained people, no flame or spark, and tools rated for it."),
}  # fmt: skip


def cautions(refrigerant_name: str) -> tuple[Caution, ...]:
    """The cautions for a unit with this refrigerant."""
    rows = list(_ALWAYS)
    more = _BY_CLASS.get(refrigerant(refrigerant_name).safety_class)
    if more:
        rows.insert(3, more)
    return tuple(Caution(code=code, text=text) for code, text in rows)
