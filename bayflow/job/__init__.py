"""The core: sheet, events, fold, gate, bounds, findings. Pure: no files, no Flask, no clock."""
