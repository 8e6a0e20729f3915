"""The questions of the sheet, a folder each."""
