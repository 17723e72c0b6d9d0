"""Draws the jig's sheets from their netlists: python3 docs/jig/draw.py. Needs Python 3.9, nothing else."""

from sheet_adapter import adapter, loop_plug
from sheet_bridge import bridge
from sheet_clamp import clamp
from sheet_converters import converters
from sheet_feed import feed
from sheet_guard import guard
from sheet_latches import latches
from sheet_loads import loads
from sheet_logic import logic
from sheet_registers import registers
from sheet_resistance import resistance

for sheet in (feed, bridge, loads, guard, latches, clamp, converters, logic, registers, resistance,
              adapter, loop_plug):
    sheet().save()
