"""Made visits with known truth: `make(situation, seed)` and `write(visit, folder)`."""

from made.make import make
from made.situations import SITUATIONS
from made.visit import MadeVisit, TrueDefrost, TruePhase, Truth, write

__all__ = ["SITUATIONS", "MadeVisit", "TrueDefrost", "TruePhase", "Truth", "make", "write"]
