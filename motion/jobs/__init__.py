"""Reviews that run beside the page: the queue, the process that watches over each, the drop folder, the copy with covered heads.

Comes in: a clip and options. Goes out: `Job`, `JobStatus`, finished reviews. Imports `film` and what lies below it.
"""
