"""Who was exposed to which level, how long and how often, over many runs; codes, never names.

read.py       run folders to exposures
exposure.py   one person in one run
rules.py      the site's rules, and what breaks them; pure
"""
