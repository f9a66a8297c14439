"""Use cases: read the record, let the core decide, append."""
