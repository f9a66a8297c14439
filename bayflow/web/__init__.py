"""Flask at the edge: the phone's API and shell, the office, the card page."""
