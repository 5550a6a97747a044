"""How the gate says no: one sentence for the person at the tablet, with what to do next."""


class GateRefused(Exception):
    """The gate does not open. `str(refused)` is the sentence to show."""


class WrongPin(GateRefused):
    """The PIN or slip code does not match. The page shows this sentence and records `pin-failed`."""
