"""Utterances -> events: the alignment to the sheet, and the judgement of what came of it."""
