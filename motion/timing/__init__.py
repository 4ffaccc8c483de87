"""Foot contacts against counts: matching, findings, habits, the class as a whole, wall against wall.

Comes in: `Candidates`, `BeatGrid`, `DanceSheet`. Goes out: `Pairing`, `Timing`, `Flag`, rows of habits and of the class. Sees no pictures.
Imports `base`, `music` and `dance`.
"""
