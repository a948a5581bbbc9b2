"""The kinds of work: from the drawing's figures to cuts, depths, settings and what to say.

One file a kind. Each has a frozen record of what the drawing gives, read from the job file
by `read`, and `work_out`, which makes it into a `Part`: figures, refusals, warnings, the
rounds of cuts with their settings, the sizes to measure, and a drawing.
"""
