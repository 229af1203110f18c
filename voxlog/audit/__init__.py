"""The audit of many runs: what is left out, when, by which item, and how sure that is."""
