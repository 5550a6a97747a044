"""Keeps templates once they are compiled: the laptop's app and the tablets' app of one server use the same ones."""

from functools import lru_cache
from types import CodeType

from jinja2 import BytecodeCache
from jinja2.bccache import Bucket


class CompiledTemplates(BytecodeCache):
    """Holds the code of each template in memory, by its name and the digest of its source. Nothing is written to a disk."""

    def __init__(self) -> None:
        self._code: dict[tuple[str, str], CodeType] = {}

    def load_bytecode(self, bucket: Bucket) -> None:
        bucket.code = self._code.get((bucket.key, bucket.checksum))

    def dump_bytecode(self, bucket: Bucket) -> None:
        if bucket.code is not None:
            self._code[bucket.key, bucket.checksum] = bucket.code


@lru_cache(maxsize=16)
def compiled_for(zone: str, hours_on_clock: int) -> CompiledTemplates:
    """The templates of every app of this process whose filters say times the same way: a filter of a constant is worked out while compiling."""
    return CompiledTemplates()
