"""The morning that these tests keep: an invented place, two officials of two parties, fixed ids and times, so that bytes can be pinned."""

from webapp.record.entry import Act, Claim, Signer, Text

RECORD_ID = bytes.fromhex("5ea1ed00c0de4a7e8000000000000001")
COARSE = frozenset({"spoiled"})
SIX = 1_793_705_400_000  # 2026-11-03 11:30:00 UTC, half past six on the wall of the place

VEGA = Signer("vega", "chair", "plum", "pin")
OKORO = Signer("okoro", "inspector", "slate", "pin")


def id_of(n: int) -> bytes:
    """The n-th id of the story, formed as a UUIDv4."""
    return bytes.fromhex(f"00000000000040008000{n:012x}")


def salt_of(n: int) -> bytes:
    return bytes([n % 256]) * 16


def act(
    n: int = 1,
    kind: str = "reading",
    body: dict | None = None,
    *,
    at: int = SIX,
    tablet: str = "A",
    seq: int | None = None,
    words: dict[str, str] | None = None,
    signers: tuple[Signer, ...] = (VEGA,),
    offset: int = 240,
) -> Act:
    """The n-th act of a tablet; seq is n unless given."""
    texts = {name: Text(salt_of(n), text) for name, text in (words or {}).items()}
    claim = Claim(
        id_of(n), kind, {"counter": 100 + n} if body is None else body, at, tablet, n if seq is None else seq, texts
    )
    return Act(claim, signers, at + 1_500, offset, "vega")


OPENED = Act(
    Claim(id_of(1), "record-opened", {"place": "FERN", "place_digest": bytes(range(32)), "mode": "practice", "version": "0.1.0", "clock": "own"},
          SIX, "laptop", 0),
    made=SIX,
)  # fmt: skip
ZERO = act(2, "zero-tape", {"at": "T1", "all_zero": True, "public_counter": 0, "protective_counter": 18_204, "prints": 2},
           at=SIX + 61_234, seq=1, signers=(VEGA, OKORO))  # fmt: skip
SPOILED = act(3, "spoiled", {"why": "overvote", "reissued": True}, at=SIX + 5_400_000 + 17_003, seq=2)
REMARK = act(4, "remark", {"lines": ["stock"]}, at=SIX + 7_200_000, seq=3, signers=(VEGA, OKORO),
             words={"remark": "Pack 7 held 99 ballots, not 100: counted twice by both of us."})  # fmt: skip
CORRECTED = act(5, "correction", {"of": 2, "reason": True, "body": {"at": "T1", "all_zero": True, "public_counter": 0, "protective_counter": 18_240,
                                                                     "prints": 2}},
                at=SIX + 7_260_000, seq=4, signers=(VEGA, OKORO), words={"reason": "Two digits of the protective counter were swapped."})  # fmt: skip

MORNING = (OPENED, ZERO, SPOILED, REMARK, CORRECTED)
"""Five acts, kept ten seconds after each was sent."""


def keep_morning(ledger) -> tuple:
    """Keep the five acts, one after the other; their entries."""
    return tuple(ledger.append(one, now=one.made + 10_000)[0] for one in MORNING)
