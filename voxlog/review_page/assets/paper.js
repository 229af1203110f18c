// What is printed: every finding and every row that was decided on, whole, not only those in sight.

import { byId, clock, element } from "./dom.js";
import { shortMoment } from "./finding.js";

export function printable(store) {
  const fill = () => byId("paper").replaceChildren(...sheet(store));
  addEventListener("beforeprint", fill);
  addEventListener("afterprint", () => byId("paper").replaceChildren());
}

function sheet(store) {
  const { run } = store;
  const numbers = [...new Set([...run.queue, ...store.added, ...store.decisions.keys()])];
  const heads = ["Row", "Time", "What", "Finding", "Heard", "p", "Decisions"];
  return [
    element("h2", {}, `${run.title}: findings and decisions`),
    element("p", {}, `Printed for ${run.reviewer} from ${run.folder}. Decisions so far: ${store.count}.`),
    element("table", {},
      element("thead", {}, element("tr", {}, ...heads.map((head) => element("th", {}, head)))),
      element("tbody", {}, ...numbers.map((n) => line(store, n)))),
  ];
}

function line(store, n) {
  const row = store.rows.get(n);
  const said = store.of(n).map((one) => element("p", {},
    element("b", {}, `${one.reviewer} ${one.verdict}`), ` ${shortMoment(one.at)}`,
    one.event ? ` [${one.event}]` : "", one.reason ? ` ${one.reason}` : ""));
  const state = store.states.get(n) === "disputed" ? [element("p", {}, element("b", {}, "DISPUTED"))] : [];
  const cells = [n, clock(row.start), row.name, `${row.mark} ${row.finding}`, row.heard, row.p];
  return element("tr", {}, ...cells.map((cell) => element("td", {}, String(cell))),
    element("td", {}, ...state, ...(said.length ? said : ["open"])));
}
