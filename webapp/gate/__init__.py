"""The gate: PINs, slips, sessions, keys, signatures that wait. The only reader of `gate.db`."""

from webapp.gate.database import prepare
from webapp.gate.gate import Gate
from webapp.gate.refusals import GateRefused, WrongPin

__all__ = ["Gate", "GateRefused", "WrongPin", "prepare"]
