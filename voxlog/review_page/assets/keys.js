// Single keys (WCAG 2.2, 2.1.4): they can be turned off, and are dead while a field is filled in.

import { byId, element } from "./dom.js";

const LETS_KEYS_THROUGH = ["radio", "checkbox", "range", "button", "submit"];

export class Keys {
  constructor(table) {
    this.table = new Map(table.map((row) => [row.key, row]));
    const dialog = byId("keys");
    byId("keys-table").replaceChildren(...table.map((row) => element(
      "tr", {}, element("td", {}, element("kbd", {}, row.key)), element("td", {}, row.text),
    )));
    byId("open-keys").addEventListener("click", () => dialog.showModal());
    byId("keys-close").addEventListener("click", () => dialog.close());
    byId("keys-on").addEventListener("change", () => {
      document.body.classList.toggle("no-keys", !this.areOn);
    });
    document.addEventListener("keydown", (event) => this.press(event));
  }

  get areOn() {
    return byId("keys-on").checked;
  }

  press(event) {
    if (event.ctrlKey || event.metaKey || event.altKey || event.isComposing) return;
    if (document.querySelector("dialog[open]")) return;
    if (event.key === "Escape" && isField(event.target)) {
      byId("finding-title").focus();
      return;
    }
    const row = this.table.get(event.key);
    if (!row || !this.areOn || isField(event.target)) return;
    event.preventDefault();
    row.run();
  }
}

function isField(node) {
  if (node instanceof HTMLInputElement) return !LETS_KEYS_THROUGH.includes(node.type);
  return node instanceof HTMLSelectElement || node instanceof HTMLTextAreaElement;
}
