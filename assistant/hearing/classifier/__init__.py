"""The networks that tell phrases apart, and what they see."""
