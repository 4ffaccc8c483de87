"""Review folders: written whole or not at all, read back, checked; their tables; corrections beside them; sheets kept for reviews.

Comes in: `Review`. Goes out: review.json as plain data, CSV text, `Stored`. Imports `review` and what lies below it, but no package that
sees pictures or hears sound.
"""
