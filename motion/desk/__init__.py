"""One review from door to door: made, opened, counted again, corrected, written down as a sheet; and the page that shows it, started.

Comes in: a clip or a review folder, and options. Goes out: a review folder. Imports `jobs` and what lies below it.
"""
