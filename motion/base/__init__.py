"""What every package may lean on: errors, guards, the types that pass between packages, small numerical tools, files and processes.

Comes in: plain values. Goes out: frozen types, checked values, errors told in a teacher's words. Imports nothing of the project.
"""
