// The form in which a row is decided on. Fields are shared with the one for missed events.

import { byId, clock, element, parseClock } from "./dom.js";

const NEEDS_REASON = ["cleared", "corrected"];

export class Decide {
  constructor(store, onSaved) {
    this.store = store;
    this.onSaved = onSaved;
    this.form = byId("decide");
    this.row = null;
    this.saving = new Saving(this.form.querySelector("[type=submit]"));
    this.form.addEventListener("submit", (event) => {
      event.preventDefault();
      this.save();
    });
    this.form.addEventListener("change", (event) => {
      if (event.target.name === "verdict") this.react();
    });
  }

  show(row) {
    this.row = row;
    this.form.reset();
    byId("decide-error").textContent = "";
    this.fields = new Fields(this.store.run, byId("corrected-fields"), "fix", row);
    byId("reasons").replaceChildren(...[...this.store.reasons].slice(-20)
      .map((reason) => element("option", { value: reason })));
    this.react();
  }

  get verdict() {
    return this.form.elements.verdict.value;
  }

  choose(verdict) {
    this.form.elements.verdict.value = verdict;
    this.react();
    const field = verdict === "corrected" ? this.fields.first : byId("reason");
    field.focus();
    this.form.scrollIntoView({ block: "nearest" });
  }

  react() {
    byId("corrected").hidden = this.verdict !== "corrected";
    byId("reason-need").textContent = NEEDS_REASON.includes(this.verdict) ? "(needed)" : "(if any)";
    byId("reason").setAttribute("aria-required", String(NEEDS_REASON.includes(this.verdict)));
  }

  async save() {
    if (this.saving.isUnderWay) return;
    const { row, verdict } = this;
    const problem = this.problem();
    if (problem) {
      this.complain(...problem);
      return;
    }
    const sent = { verdict, row: row.n, reason: byId("reason").value };
    if (verdict === "corrected") sent.event = this.fields.values();
    try {
      await this.saving.once(() => this.store.decide(sent));
    } catch (error) {
      this.complain(error.message, byId("reason"));
      return;
    }
    this.onSaved(row, verdict);
  }

  problem() {
    if (!this.row) return ["Choose a row first.", byId("queue")];
    if (!this.verdict) return ["Choose a verdict: s, c, x or d.", this.form.elements.verdict[0]];
    if (NEEDS_REASON.includes(this.verdict) && !byId("reason").value.trim()) {
      return ["Say why: this verdict needs a reason.", byId("reason")];
    }
    return this.verdict === "corrected" ? this.fields.problem() : null;
  }

  complain(text, field) {
    byId("decide-error").textContent = text;
    field.focus();
  }
}

// While one decision is on its way a second Enter sends no second one.
export class Saving {
  constructor(button) {
    this.button = button;
    this.isUnderWay = false;
  }

  async once(action) {
    this.isUnderWay = true;
    this.button.setAttribute("aria-disabled", "true");
    try {
      await action();
    } finally {
      this.isUnderWay = false;
      this.button.removeAttribute("aria-disabled");
    }
  }
}

// Status, value, flags, position, words and time of a row, as it should be.
export class Fields {
  constructor(run, place, prefix, row, unit = row.unit) {
    this.row = row;
    this.prefix = prefix;
    this.unit = unit;
    this.positions = Object.entries(run.positions);
    this.inputs = {};
    this.first = null;
    place.replaceChildren(...this.nodes());
  }

  * nodes() {
    const { row } = this;
    if (row.statuses.length) {
      const none = row.kind === "item" ? [] : [["", "none"]];
      yield this.select("status", "Status", [...none, ...row.statuses.map((one) => [one, one])], row.status ?? "");
    }
    yield this.input("value", this.unit ? `Value, ${this.unit}` : "Value", row.value_edit, { inputmode: "decimal" });
    yield this.select("position", row.kind === "item" ? "Who answered" : "Who spoke", [["", "not known"], ...this.positions], row.position);
    yield this.input("start", "Time, min:s", clock(row.start, true));
    yield this.input("heard", "Words really said", row.heard);
    yield element("fieldset", { class: "flags" }, element("legend", {}, "Flags"),
      ...row.asked_flags.map((flag) => this.check(flag, row.flags.includes(flag))));
  }

  select(name, label, options, chosen) {
    const select = element("select", { id: `${this.prefix}-${name}` });
    for (const [value, text] of options) select.append(new Option(text, value, false, value === chosen));
    return this.labelled(name, label, select);
  }

  input(name, label, value, attributes = {}) {
    return this.labelled(name, label, element("input", {
      id: `${this.prefix}-${name}`, value, autocomplete: "off", ...attributes,
    }));
  }

  check(flag, isChecked) {
    const box = element("input", { type: "checkbox", value: flag, checked: isChecked });
    this.inputs[`flag:${flag}`] = box;
    return element("label", {}, box, ` ${flag}`);
  }

  labelled(name, label, field) {
    this.inputs[name] = field;
    this.first ??= field;
    return element(
      "div", { class: name === "heard" ? "field wide" : "field" },
      element("label", { for: field.id }, label), field,
    );
  }

  problem() {
    const { value, start } = this.inputs;
    if (value.value.trim() && Number.isNaN(number(value.value))) {
      return ["The value is not a number: write figures, as 1450 or 72.5.", value];
    }
    if (Number.isNaN(parseClock(start.value))) {
      return ["The time is not minutes and seconds: write it as 12:30.5.", start];
    }
    return null;
  }

  values() {
    const { status, value, position, heard, start } = this.inputs;
    const isMoved = start.value.trim() !== clock(this.row.start, true);
    return {
      status: status?.value ?? "",
      value: value.value.trim() ? number(value.value) : null,
      position: position.value,
      heard: heard.value,
      start: isMoved ? parseClock(start.value) : null,
      flags: Object.entries(this.inputs)
        .filter(([name, box]) => name.startsWith("flag:") && box.checked)
        .map(([, box]) => box.value),
    };
  }
}

function number(text) {
  return Number(text.replaceAll(",", "").trim());
}
