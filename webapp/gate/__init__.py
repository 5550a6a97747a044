"""The gate: PINs, slips, sessions, keys, signatures that wait. The only reader of `gate.db`."""

from webapp.gate.drawer import prepare
from webapp.gate.gate import Gate
from webapp.gate.refusals import Refused, WrongPin

__all__ = ["Gate", "Refused", "WrongPin", "prepare"]
