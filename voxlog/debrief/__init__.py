"""The page that crew and medical officer sit down with after the run: debrief.html."""
