"""The journal: written before anything is acted on, read with nothing taken for granted."""
