"""The command: arguments in, exit codes out.

Comes in: words of a command line. Goes out: 0 done, 1 a problem that the person can mend, 2 wrong arguments. Imports anything.
"""
