"""A whole archive of recordings: logged run by run, and kept as one table of all their rows."""
