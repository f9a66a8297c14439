"""Procedures in YAML: read, checked, held against the order rules, compiled into a sheet, rehearsed."""
