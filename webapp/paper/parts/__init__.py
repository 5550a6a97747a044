"""What the papers are built from: the sheet, lines to write in, headings, tables, forms of a step."""
