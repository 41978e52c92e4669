"""When a job will be finished: the studio's working days, what its jobs still need, and what may be promised.

The question: which day can be promised for a new job, how sure is that, and which promise does it break?

Words: a *job* is one piece in the making; its *stages* are done one after another. A stage is *bench work*, perhaps not
before the day on which its materials come, or a *fitting* on a day agreed with the client. The *order* of jobs is the
maker's: each minute goes to the first job that can use it, so that a job that waits leaves its time to the next.
One maker; minutes are whole; a day is the smallest step that is told.
"""
