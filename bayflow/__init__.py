"""Bayflow: order, waiting and proof for a vehicle-detailing shop.

Read `bayflow.job` first (the sheet, the log, the gate), then `bayflow.procedure` (YAML to sheet),
then `bayflow.shop` (use cases); `bayflow.store` and `bayflow.web` are edges.
"""

__version__ = "0.1.0"
