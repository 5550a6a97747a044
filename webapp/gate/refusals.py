"""How the gate says no: one sentence for the person at the tablet, with what to do next."""


class GateRefused(Exception):
    """The gate does not open. `str(refused)` is the sentence to show."""


class WrongPin(GateRefused):
    """A PIN or slip code was checked and is another: the page keeps a `pin-failed` entry beside showing the sentence."""
