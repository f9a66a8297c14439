"""Files of record. Imports nothing else of bayflow."""
