"""Step sheets: the trade's vocabulary, reading, writing, checking, and the whole dance in its walls.

Comes in: a step sheet as a file, table or prose. Goes out: `DanceSheet`, `Finding`, `Due`, drawings. Imports `base` only.
"""
