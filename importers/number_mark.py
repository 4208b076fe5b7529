"""The mark before a number that came as a number, not as text: its decimal sign is the point."""

NUMBER_MARK = "\u2060"  # word joiner: cannot be seen and is refused where a person types it
