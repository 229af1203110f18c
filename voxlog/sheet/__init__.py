"""The run sheet: YAML text in, one frozen `Sheet` out, and what can be said of a sheet.

Read in this order: `model` (what a sheet is), `notation` (how a phrase is written), `tree` and
`load` (text to Sheet, every error with its line), `rules` (what no single field can know),
`check` (warnings), `phrases` (everything the sheet makes sayable), `show` (the printed sheet),
`schema` (for editors). Only `load` touches a file.
"""
