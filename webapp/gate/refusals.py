"""How the gate says no: one sentence for the person at the tablet, with what to do next."""


class Refused(Exception):
    """The gate does not open. `str(refused)` is the sentence to show."""


class WrongPin(Refused):
    """A PIN or slip code was checked and is another: the page keeps a `pin-failed` entry beside showing the sentence."""
