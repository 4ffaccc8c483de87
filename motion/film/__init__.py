"""Films and sound files: counted clip, take-home video, extracts, class map, practice track, and the look before filming.

Comes in: a clip and its stored review. Goes out: mp4, wav, pictures. Imports `tell` and what lies below it.
"""
