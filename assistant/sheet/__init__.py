"""The job sheet: one printed page, enough to finish the job by hand with no electricity."""
