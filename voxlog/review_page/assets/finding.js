// One row in full: what was wanted beside what was heard, the speech around it, the decisions.

import { byId, clock, element, say } from "./dom.js";
import { NO_SOUND_HERE, hasClip } from "./player.js";
import { clipWave, placePlayhead, stripLabels } from "./wave.js";

const SETTLE_MS = 90;
const SHOWN_LINES = 30;

export class Finding {
  constructor(store, player) {
    this.store = store;
    this.player = player;
    this.row = null;
    this.picture = null;
    byId("wave").addEventListener("click", (event) => this.point(event));
  }

  show(n, place, count) {
    const row = this.store.rows.get(n);
    this.row = row;
    byId("finding-place").textContent = `Row ${n}, ${place} of ${count}`;
    byId("finding-title").textContent = `${row.name}: ${row.finding || row.status || row.kind}`;
    byId("finding-facts").textContent = [
      `${clock(row.start, true)} to ${clock(row.end, true)}`, row.phase, row.who,
      `voxlog is ${row.p} sure`,
    ].filter(Boolean).join(" · ");
    byId("wanted").replaceChildren(...row.wanted.flatMap((line) => [
      element("dt", {}, line.term), element("dd", {}, line.text),
    ]));
    if (!row.wanted.length) {
      byId("wanted").replaceChildren(element("dd", {}, "Nothing: the sheet does not expect this."));
    }
    byId("heard").replaceChildren(...heard(row));
    this.showLines(row);
    this.showDecisions();
    this.settle(row);
  }

  settle(row) {
    // While somebody runs through the list, no sound is asked for.
    clearTimeout(this.timer);
    this.picture = null;
    byId("wave").replaceChildren();
    const missing = this.whyNoSound(row);
    if (missing) byId("wave").replaceChildren(element("p", {}, missing));
    else this.timer = setTimeout(() => this.showWave(row), SETTLE_MS);
  }

  whyNoSound(row) {
    if (!this.store.run.has_sound) return "The recording is not in this folder.";
    return hasClip(row) ? "" : NO_SOUND_HERE;
  }

  async showWave(row) {
    const [start, end] = row.clip.map((seconds) => Math.round(seconds * 1000));
    const response = await fetch(`wave/0/${start}-${end}`).catch(() => null);
    if (!response?.ok || this.row !== row) return;
    const channels = await response.json();
    if (this.row !== row) return;
    const lines = this.store.linesBetween(...row.clip);
    this.picture = clipWave(channels, row, lines);
    byId("wave").replaceChildren(this.picture, ...stripLabels(this.store.channelNames));
    this.moment(this.player.moment);
  }

  moment(moment) {
    if (!this.row || !this.picture) return;
    const [start, end] = this.row.clip;
    placePlayhead(this.picture, (moment - start) / (end - start));
  }

  point(event) {
    if (!this.row) return;
    const box = byId("wave").getBoundingClientRect();
    const [start, end] = this.row.clip;
    this.player.playRow(this.row, ((event.clientX - box.left) / box.width) * (end - start));
  }

  showLines(row) {
    const lines = this.store.linesBetween(...row.clip).slice(0, SHOWN_LINES);
    byId("around").replaceChildren(...lines.map((line) => this.line(line, row)));
    if (!lines.length) {
      byId("around").replaceChildren(element("li", {}, "No speech was found here."));
    }
  }

  line(line, row) {
    const isPart = line.end > row.start && line.start < row.end;
    const shown = line.alternatives.slice(0, isPart ? 5 : 1);
    const names = this.store.channelNames;
    const who = names.length > 1 ? `${names[line.channel - 1] ?? line.channel}, ` : "";
    return element(
      "li", { class: isPart ? "part" : "" },
      element("button", {
        type: "button", class: "small", "aria-label": `Play from ${clock(line.start, true)}`,
        onclick: () => this.player.seek(line.start, true),
      }, `▶ ${clock(line.start, true)}`),
      element("div", {},
        element("p", {}, `${who}free transcription: `, quoted(line.text)),
        shown.length ? element("ul", {}, ...shown.map((one) => element(
          "li", {}, quoted(one.text), ` ${one.what} `, element("b", {}, one.share),
        ))) : null),
    );
  }

  showDecisions() {
    if (!this.row) return;
    const every = this.store.of(this.row.n);
    const state = this.store.states.get(this.row.n);
    const latest = new Map(every.map((one) => [one.reviewer, one.n]));
    const told = every.map((one) => element(
      "tr", { class: latest.get(one.reviewer) === one.n ? "" : "old" },
      element("td", {}, one.reviewer),
      element("td", {}, element("time", { datetime: one.at }, shortMoment(one.at))),
      element("td", {}, latest.get(one.reviewer) === one.n ? one.verdict : `${one.verdict}, replaced`),
      element("td", {}, one.event ?? ""),
      element("td", {}, one.reason),
    ));
    const heads = ["Who", "When (UTC)", "Verdict", "As it should be", "Reason"];
    const table = element("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "Decisions" },
      element("table", {},
        element("thead", {}, element("tr", {}, ...heads.map((head) => element("th", { scope: "col" }, head)))),
        element("tbody", {}, ...told)));
    const dispute = state === "disputed"
      ? element("p", { class: "dispute" }, "Disputed: reviewers say different things. Both stay; the log's row counts until they agree.")
      : null;
    byId("decisions").replaceChildren(...(every.length
      ? [dispute, table].filter(Boolean)
      : [element("p", {}, "Nobody has decided on this row.")]));
  }
}

export function focusFinding() {
  byId("finding-title").focus({ preventScroll: false });
}

export function announceNews(store, fresh) {
  const others = fresh.filter((one) => one.reviewer !== store.run.reviewer);
  for (const one of others.slice(-1)) {
    say(`${one.reviewer} decided on ${store.rows.get(one.row).name}: ${one.verdict}`);
  }
}

function heard(row) {
  const facts = [
    ["Status", row.status], ["Value", row.value_text], ["By", row.who],
    ["Flags", row.flags.join(", ")], ["Note", row.note],
  ].filter(([, text]) => text);
  return [
    element("p", { class: "words" }, row.heard ? quoted(row.heard) : "Nothing was heard."),
    element("dl", {}, ...facts.flatMap(([term, text]) => [
      element("dt", {}, term), element("dd", {}, text),
    ])),
  ];
}

function quoted(text) {
  return element("q", {}, text);
}

export function shortMoment(at) {
  return at.slice(0, 19).replace("T", " ");
}
