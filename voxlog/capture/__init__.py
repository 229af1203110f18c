"""From a device, or a recording played as if it were one, to audio that is safe on the disk.

Read `block`, `source`, `device` (and `arrival`, `opening`, `wire` behind it; `device_program`, with
`portaudio`, is a program of its own), `rehearsal`; then `journal` (and `au`), `finish`. `meter`,
`clock` and `feed` are pure and take the same blocks: levels, dates, what speech is looked for in.
"""
