"""Classes, consent, lessons, what goes when, and erasing.

Comes in: what a teacher notes about classes and consent. Goes out: rows of the library's one file, archives, deletions. Imports `desk` and
what lies below it.
"""
