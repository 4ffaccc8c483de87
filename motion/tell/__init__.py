"""A review in words, drawings and pages: teacher, student, choreographer, report, range check, release, wall plan, the lesson's page.

Comes in: review.json as plain data, step sheets, lessons. Goes out: sentences, SVG, HTML. Imports `store` and what lies below it.
"""
