"""The session as a pure function: what may happen, what follows, what is said."""
