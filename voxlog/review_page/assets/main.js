// The page as a whole: what is selected, and who is told when something changes.

import { Add } from "./add.js";
import { Decide } from "./decide.js";
import { byId, clock, element, say } from "./dom.js";
import { Finding, announceNews, focusFinding } from "./finding.js";
import { Keys } from "./keys.js";
import { List, shade } from "./list.js";
import { printable } from "./paper.js";
import { Player } from "./player.js";
import { Store } from "./store.js";
import { overviewWave, placeHere, placePlayhead } from "./wave.js";

const LOST = "The server does not answer: it has ended, or is being started again. What was saved is saved. Start voxlog review again and open the new address; what you are typing is not saved yet.";

class Page {
  constructor(store) {
    this.store = store;
    this.overview = null;
    this.player = new Player(store, (moment) => this.moment(moment));
    this.finding = new Finding(store, this.player);
    this.decide = new Decide(store, (row, verdict) => this.saved(row, verdict));
    this.list = new List(store, (n) => this.show(n));
    this.add = new Add(store, this.player, (n) => this.go(n));
    this.keys = new Keys(this.keyTable());
    store.onChange((fresh) => this.changed(fresh));
    printable(store);
    this.connect();
    this.progress();
    this.view("findings");
    this.list.select(Math.max(0, this.list.nextUndecided()));
    store.follow();
    this.drawOverview();
  }

  keyTable() {
    const verdict = (key, name, text) => ({ key, text, run: () => this.decide.choose(name) });
    return [
      { key: "p", text: "play this row from its start, or stop", run: () => this.player.toggleRow() },
      { key: "w", text: "play the whole recording on from here, or stop", run: () => this.player.toggleWhole() },
      { key: ",", text: "2 seconds back", run: () => this.player.step(-1) },
      { key: ".", text: "2 seconds on", run: () => this.player.step(1) },
      { key: "v", text: "slower, or the usual speed", run: () => this.player.slower() },
      { key: "[", text: "channel before", run: () => this.player.setChannel(this.player.channel - 1) },
      { key: "]", text: "next channel", run: () => this.player.setChannel(this.player.channel + 1) },
      { key: "j", text: "next row", run: () => this.step(1) },
      { key: "k", text: "row before", run: () => this.step(-1) },
      { key: "n", text: "next row that you have not decided on", run: () => this.next() },
      verdict("s", "stands", "stands: the log is right; then Enter"),
      verdict("c", "cleared", "cleared: misheard, all was well; then a reason and Enter"),
      verdict("x", "corrected", "corrected: another status or value; then a reason and Enter"),
      verdict("d", "deferred", "deferred: to be decided later; then Enter"),
      { key: "a", text: "add an event that was missed, at this moment", run: () => this.add.open() },
      { key: "l", text: "go to the list of rows (then arrow keys)", run: () => byId("queue").focus() },
      { key: "f", text: "show findings, those to decide, or all rows", run: () => this.nextView() },
      { key: "?", text: "this list", run: () => byId("keys").showModal() },
    ];
  }

  connect() {
    const on = (id, action) => byId(id).addEventListener("click", action);
    on("play", () => this.player.toggleRow());
    on("run-play", () => this.player.toggleWhole());
    on("back", () => this.player.step(-1));
    on("forth", () => this.player.step(1));
    on("slow", () => this.player.slower());
    byId("view").addEventListener("change", (event) => this.view(event.target.value));
    const scrub = byId("scrub");
    scrub.max = String(this.store.run.seconds);
    scrub.addEventListener("input", () => this.player.seek(Number(scrub.value)));
    const { start, folder, seconds } = this.store.run;
    byId("run-facts").textContent = `· ${folder} · ${clock(seconds)}${start ? ` · ${start.slice(0, 16).replace("T", " ")} UTC` : ""}`;
  }

  view(name) {
    const selected = this.list.selected ?? this.finding.row?.n;
    byId("view").value = name;
    this.list.show(this.store.view(name), selected);
    this.title();
  }

  nextView() {
    const names = [...byId("view").options].map((option) => option.value);
    const name = names[(names.indexOf(byId("view").value) + 1) % names.length];
    this.view(name);
    say(`${byId("view").selectedOptions[0].text}: ${this.list.numbers.length}`);
  }

  title() {
    byId("queue-title").textContent = `${byId("view").selectedOptions[0].text}: ${this.list.numbers.length}`;
  }

  show(n) {
    const row = this.store.rows.get(n);
    this.player.arrive(row);
    this.finding.show(n, this.list.at + 1, this.list.numbers.length);
    this.decide.show(row);
    placeHere(this.overview, row.clip[0], row.clip[1], this.store.run.seconds);
  }

  go(n) {
    if (!this.list.places.has(n)) this.view("all");
    this.list.selectNumber(n);
    focusFinding();
  }

  step(direction) {
    const isInList = document.activeElement === byId("queue");
    if (!this.list.select(this.list.at + direction)) say(direction > 0 ? "That was the last row." : "That was the first row.");
    else if (!isInList) focusFinding();
  }

  next() {
    const place = this.list.nextUndecided();
    if (place < 0) say("Everything here is decided.");
    else {
      this.list.select(place);
      focusFinding();
    }
    return place >= 0;
  }

  saved(row, verdict) {
    const told = `Saved: ${row.name}, ${verdict}.`;
    if (this.finding.row !== row) {
      say(told);
      return;
    }
    const place = this.list.nextUndecided();
    if (place < 0) {
      say(`${told} Everything here is decided.`);
      this.decide.show(row);
      focusFinding();
      return;
    }
    this.list.select(place);
    say(`${told} Next, ${place + 1} of ${this.list.numbers.length}.`);
    focusFinding();
  }

  changed(fresh) {
    const rows = new Set(fresh.map((one) => one.row));
    if (byId("view").value === "open" || fresh.some((one) => one.verdict === "added")) {
      this.view(byId("view").value);
    } else this.list.update(rows);
    if (this.finding.row && rows.has(this.finding.row.n)) this.finding.showDecisions();
    announceNews(this.store, fresh);
    this.progress();
    this.notices();
  }

  progress() {
    const findings = this.store.view("findings");
    const done = findings.filter((n) => this.store.isDecided(n)).length;
    const disputed = [...this.store.states.values()].filter((state) => state === "disputed").length;
    byId("done").max = Math.max(1, findings.length);
    byId("done").value = done;
    byId("done-text").textContent = `${done} of ${findings.length} decided by you${disputed ? `, ${disputed} disputed` : ""}`;
    this.notices();
  }

  notices() {
    const texts = [...(this.store.isLost ? [LOST] : []), ...this.store.run.warnings];
    byId("notices").replaceChildren(...texts.map((text) => element(
      "p", { class: "notice", role: text === LOST ? "alert" : null }, text,
    )));
  }

  moment(moment) {
    this.finding?.moment(moment);
    placePlayhead(this.overview, moment / this.store.run.seconds);
  }

  async drawOverview() {
    if (!this.store.run.has_sound) return;
    const response = await fetch("overview").catch(() => null);
    if (!response?.ok) return;
    const rows = this.store.run.queue.map((n) => this.store.rows.get(n))
      .map((row) => ({ start: row.start, shade: shade(row) }));
    this.overview = overviewWave(await response.json(), rows, this.store.run.seconds);
    byId("overview").replaceChildren(this.overview);
    const { row } = this.finding;
    if (row) placeHere(this.overview, row.clip[0], row.clip[1], this.store.run.seconds);
    this.moment(this.player.moment);
  }
}

Store.load().then((store) => new Page(store)).catch((error) => {
  byId("notices").replaceChildren(element("p", { class: "notice", role: "alert" }, error.message));
});
