"""The log report: what happened in a job, cut by cut, from its journal alone."""
