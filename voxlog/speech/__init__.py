"""Segments to utterances: what may have been said, with evidence."""
