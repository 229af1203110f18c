"""The physics of a run from its log: level against time, pressure, rates, oxygen. Pure functions.

Aids for a person who reads them with their cautions: never a go or no-go, and never a prediction
of decompression sickness.
"""
