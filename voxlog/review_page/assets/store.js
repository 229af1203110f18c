// The run, its decisions, and what they come to. Everything goes through the server, which puts a
// decision on the disk before it answers.

const POLL_MS = 2000;

export class Store {
  static async load() {
    const store = new Store(await answer(await fetch("run")));
    await store.refresh();
    return store;
  }

  constructor(run) {
    this.run = run;
    this.rows = new Map(run.rows.map((row) => [row.n, row]));
    this.added = [];
    this.decisions = new Map();
    this.states = new Map();
    this.reasons = new Set();
    this.count = 0;
    this.heardBy = [];
    this.isLost = false;
    this.channelNames = run.channels
      .map((who, index) => `${index + 1} ${run.positions[who] ?? who}`.trim());
  }

  onChange(listener) {
    this.heardBy.push(listener);
  }

  of(n) {
    return this.decisions.get(n) ?? [];
  }

  mine(n) {
    return this.of(n).findLast((one) => one.reviewer === this.run.reviewer) ?? null;
  }

  isDecided(n) {
    const mine = this.mine(n);
    return mine !== null && mine.verdict !== "deferred";
  }

  view(name) {
    if (name === "all") return [...this.rows.keys()].sort((a, b) => this.compare(a, b));
    const findings = [...this.run.queue, ...this.added];
    return name === "open" ? findings.filter((n) => !this.isDecided(n)) : findings;
  }

  compare(a, b) {
    return this.rows.get(a).start - this.rows.get(b).start || a - b;
  }

  linesBetween(start, end) {
    return this.run.lines.filter((line) => line.end > start && line.start < end);
  }

  async decide(sent) {
    const told = await this.ask(() => fetch("decisions", {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify({ ...sent, after: this.count }),
    }));
    this.take(told);
  }

  async refresh() {
    this.take(await this.ask(() => fetch(`decisions?after=${this.count}`)));
  }

  follow() {
    const look = async () => {
      if (!document.hidden) await this.refresh().catch(() => {});
      setTimeout(look, POLL_MS);
    };
    setTimeout(look, POLL_MS);
  }

  async ask(request) {
    try {
      const told = await answer(await request());
      this.lose(false);
      return told;
    } catch (error) {
      if (error instanceof TypeError) {
        this.lose(true);
        throw new Error("Not saved: the server does not answer.");
      }
      throw error;
    }
  }

  lose(isLost) {
    if (isLost !== this.isLost) {
      this.isLost = isLost;
      this.tell([]);
    }
  }

  take(told) {
    const known = this.count;
    const fresh = told.decisions.filter((one) => one.n > known);
    this.count = Math.max(known, told.count);
    for (const row of told.rows) {
      if (!this.rows.has(row.n)) this.added.push(row.n);
      this.rows.set(row.n, row);
    }
    for (const one of fresh) {
      if (!this.decisions.has(one.row)) this.decisions.set(one.row, []);
      this.decisions.get(one.row).push(one);
      if (one.reviewer === this.run.reviewer && one.reason) this.reasons.add(one.reason);
    }
    for (const [n, state] of Object.entries(told.states)) this.states.set(Number(n), state);
    if (fresh.length) this.tell(fresh);
  }

  tell(fresh) {
    for (const listener of this.heardBy) listener(fresh);
  }
}

async function answer(response) {
  const isJson = (response.headers.get("content-type") ?? "").includes("json");
  const told = isJson ? await response.json() : null;
  if (!response.ok) throw new Error(told?.error ?? `The server refused (${response.status}).`);
  return told;
}
