"""Sound: onset strength, beats, counts, sound against picture, and sounds made from nothing.

Comes in: `Sound`, taps, a song. Goes out: `OnsetCurve`, `BeatGrid`, `SoundOffset`, practice sounds. Imports `base` only.
"""
