"""The review page: a person hears each finding and decides on it, in a browser on this machine.

    run folder ──► run ──► rows (what is shown) ──► app ◄──► browser (assets/)
                   sound (what is played) ──────────┘ └──► ledger ──► review.jsonl

Pure: `queue` (what comes first), `names`, `wanted` (what the sheet asked for), `lines` (what was
heard), `rows`, `form` (what was decided, as an event), `wav`. Who may come in is decided in
`access`, and nowhere else. `serve` is the shell around all of it.
"""
