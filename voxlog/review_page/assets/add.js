// The dialog that adds an event which the log missed, at the moment that is being heard.

import { byId, element, parseClock, say } from "./dom.js";
import { Fields, Saving } from "./decide.js";

export class Add {
  constructor(store, player, onAdded) {
    this.store = store;
    this.player = player;
    this.onAdded = onAdded;
    this.dialog = byId("add");
    this.saving = new Saving(this.dialog.querySelector("[type=submit]"));
    byId("open-add").addEventListener("click", () => this.open());
    byId("add-close").addEventListener("click", () => this.dialog.close());
    byId("add-form").addEventListener("submit", (event) => {
      event.preventDefault();
      this.save();
    });
  }

  open() {
    this.player.stop();
    const { moment } = this.player;
    const { parts } = this.store.run;
    this.part = element("select", { id: "add-part" });
    parts.forEach((part, index) => this.part.append(new Option(part.name, String(index))));
    const place = element("div", { class: "field" }, element("label", { for: "add-part" }, "What"), this.part);
    const rest = element("div", { class: "grid inner" });
    byId("add-fields").replaceChildren(place, rest);
    const show = () => {
      this.fields = new Fields(this.store.run, rest, "new", blank(this.chosen, moment), this.chosen.unit);
    };
    this.part.addEventListener("change", show);
    show();
    byId("add-reason").value = "";
    byId("add-error").textContent = "";
    this.dialog.showModal();
    this.part.focus();
  }

  get chosen() {
    return this.store.run.parts[Number(this.part.value)];
  }

  async save() {
    if (this.saving.isUnderWay) return;
    const problem = this.problem();
    if (problem) {
      this.complain(...problem);
      return;
    }
    const { kind, item } = this.chosen;
    const start = parseClock(this.fields.inputs.start.value);
    const event = { kind, item, ...this.fields.values(), start };
    try {
      const sent = { verdict: "added", event, reason: byId("add-reason").value };
      await this.saving.once(() => this.store.decide(sent));
    } catch (error) {
      this.complain(error.message, byId("add-reason"));
      return;
    }
    this.dialog.close();
    say(`Added: ${this.chosen.name}`);
    this.onAdded(this.store.added.at(-1));
  }

  problem() {
    if (!byId("add-reason").value.trim()) return ["Say why: what was missed needs a reason.", byId("add-reason")];
    return this.fields.problem();
  }

  complain(text, field) {
    byId("add-error").textContent = text;
    field.focus();
  }
}

function blank(part, moment) {
  return {
    kind: part.kind, statuses: part.statuses, status: part.statuses[0] ?? "", value_edit: "",
    unit: part.unit, position: "", heard: "", start: moment, flags: [],
    asked_flags: ["out-of-order", "misread", "self-answered", "late"],
  };
}
