"""The bench page: what the eyes see of a session, served to browsers in the shop."""
