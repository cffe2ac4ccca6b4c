"""The numbers of the heating check, one row each, in their order; docs/heating.md is made from them."""

from __future__ import annotations

from typing import Final

from firstfrost.heating.row import Row
from firstfrost.heating.rows_air import AIR
from firstfrost.heating.rows_circuit import CIRCUIT
from firstfrost.heating.rows_electric import ELECTRIC
from firstfrost.heating.rows_house import BACKUP, BACKUP_ORDER, HOUSE

ROWS: Final[tuple[Row, ...]] = (*CIRCUIT, *AIR, *ELECTRIC, *BACKUP, BACKUP_ORDER, *HOUSE)
NAMES: Final = tuple(row.name for row in ROWS)
