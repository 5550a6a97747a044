"""What a printed page says, read off the PDF as a person would read it."""


def printed_text(data: bytes) -> str:
    """The text of every page."""
    import pypdfium2

    return "\n".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(data))
