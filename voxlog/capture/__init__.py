"""From a device, or a recording played as if it were one, to audio that is safe on the disk.

Read `block`, `source`, `device` (and `portaudio`, `arrival` behind it), `rehearsal`; then `journal`
(and `au`), `finish`. `meter`, `clock` and `feed` are pure and take the same blocks: levels, dates,
and what speech is looked for in.
"""
