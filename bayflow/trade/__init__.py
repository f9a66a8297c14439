"""What the trade knows: pure functions on plain numbers, the unit in the name."""
