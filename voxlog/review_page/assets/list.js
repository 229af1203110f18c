// The queue as a listbox in which only the rows in sight exist, so that thousands scroll as well
// as ten. Arrow keys, Home, End and Page keys while it has the focus.

import { byId, clock, element } from "./dom.js";

const ROW_PX = 62;
const SPARE = 4;

const BADGES = {
  agreed: "agreed", disputed: "disputed", deferred: "deferred", open: "",
};

export class List {
  constructor(store, onSelect) {
    this.store = store;
    this.onSelect = onSelect;
    this.box = byId("queue");
    this.space = element("div", { class: "space", role: "presentation" });
    this.box.append(this.space);
    this.numbers = [];
    this.places = new Map();
    this.at = -1;
    this.from = -1;
    this.shown = new Map();
    this.box.addEventListener("scroll", () => this.draw(), { passive: true });
    this.box.addEventListener("keydown", (event) => this.key(event));
    this.box.addEventListener("click", (event) => this.click(event));
    new ResizeObserver(() => this.draw()).observe(this.box);
  }

  get selected() {
    return this.numbers[this.at] ?? null;
  }

  show(numbers, selected) {
    this.numbers = numbers;
    this.places = new Map(numbers.map((n, place) => [n, place]));
    // A row that was decided leaves the list of those to decide; the next one is in its place.
    this.from = Math.min(this.at, numbers.length) - 1;
    this.at = this.places.get(selected) ?? -1;
    this.space.style.height = `${numbers.length * ROW_PX}px`;
    byId("queue-empty").hidden = numbers.length > 0;
    this.box.hidden = numbers.length === 0;
    this.clear();
    this.draw();
  }

  clear() {
    for (const node of this.shown.values()) node.remove();
    this.shown.clear();
  }

  update(rows) {
    for (const n of rows) {
      const place = this.places.get(n);
      this.shown.get(place)?.remove();
      this.shown.delete(place);
    }
    this.draw();
  }

  select(place) {
    if (place < 0 || place >= this.numbers.length) return false;
    const before = this.shown.get(this.at);
    this.at = place;
    before?.setAttribute("aria-selected", "false");
    this.reveal();
    this.draw();
    this.shown.get(place)?.setAttribute("aria-selected", "true");
    this.box.setAttribute("aria-activedescendant", `row-${this.selected}`);
    this.onSelect(this.selected);
    return true;
  }

  selectNumber(n) {
    return this.select(this.places.get(n) ?? -1);
  }

  nextUndecided() {
    const count = this.numbers.length;
    const from = this.at < 0 ? Math.max(-1, this.from) : this.at;
    for (let step = 1; step <= count; step += 1) {
      const place = (from + step) % count;
      if (!this.store.isDecided(this.numbers[place]) && this.isFinding(place)) return place;
    }
    return -1;
  }

  isFinding(place) {
    const n = this.numbers[place];
    return this.store.rows.get(n).is_finding || this.store.added.includes(n);
  }

  reveal() {
    const top = this.at * ROW_PX;
    const { scrollTop, clientHeight } = this.box;
    if (top < scrollTop) this.box.scrollTop = top;
    else if (top + ROW_PX > scrollTop + clientHeight) {
      this.box.scrollTop = top + ROW_PX - clientHeight;
    }
  }

  draw() {
    const { scrollTop, clientHeight } = this.box;
    const first = Math.max(0, Math.floor(scrollTop / ROW_PX) - SPARE);
    const end = Math.min(
      this.numbers.length, Math.ceil((scrollTop + clientHeight) / ROW_PX) + SPARE,
    );
    for (const [place, node] of this.shown) {
      if (place < first || place >= end) {
        node.remove();
        this.shown.delete(place);
      }
    }
    for (let place = first; place < end; place += 1) {
      if (!this.shown.has(place)) {
        const node = this.option(place);
        this.shown.set(place, node);
        this.space.append(node);
      }
    }
  }

  option(place) {
    const n = this.numbers[place];
    const row = this.store.rows.get(n);
    const state = this.store.states.get(n) ?? "open";
    const mine = this.store.mine(n);
    const badge = state === "agreed" && mine ? mine.verdict : BADGES[state];
    const node = element(
      "div",
      {
        id: `row-${n}`, class: `option ${shade(row)}`, role: "option",
        "aria-selected": String(place === this.at),
        "aria-posinset": place + 1, "aria-setsize": this.numbers.length, "data-place": place,
      },
      element("span", { class: "mark", "aria-hidden": "true" }, row.mark),
      element("span", { class: "name" }, row.name),
      element("span", { class: "time" }, clock(row.start)),
      element("span", { class: "what" }, row.finding || row.status || row.kind),
      element("span", { class: `badge ${state}` }, badge),
    );
    node.style.transform = `translateY(${place * ROW_PX}px)`;
    return node;
  }

  click(event) {
    const option = event.target.closest(".option");
    if (option) this.select(Number(option.dataset.place));
  }

  key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const page = Math.max(1, Math.floor(this.box.clientHeight / ROW_PX) - 1);
    const last = this.numbers.length - 1;
    const place = {
      ArrowDown: this.at + 1, ArrowUp: this.at - 1, Home: 0, End: last,
      PageDown: Math.min(last, this.at + page), PageUp: Math.max(0, this.at - page),
    }[event.key];
    if (place === undefined) return;
    event.preventDefault();
    this.select(place);
  }
}

export function shade(row) {
  if (row.order === null) return "plain";
  return row.order <= 1 ? "grave" : row.order <= 2 ? "open" : row.order === 6 ? "unsure" : "minor";
}
