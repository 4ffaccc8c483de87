"""The lesson around the clip: before it begins, warm-up, count-in, pulse and breath, cool-down, plan and record.

Comes in: who the class is and how long it has. Goes out: plain frozen data. Imports `base` only.
"""
