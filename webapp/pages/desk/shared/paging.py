"""Long lists of the desk come a page at a time."""

from flask import request


def page_of(last: int) -> int:
    """The page asked for, from 0, never beyond the last one."""
    wanted = request.args.get("page", "")
    return min(int(wanted), last) if wanted.isascii() and wanted.isdigit() and len(wanted) < 6 else 0
