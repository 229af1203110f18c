// Elements are built here, from text and never from markup: what a crew said, or what a sheet
// holds, cannot become part of the page.

const SVG = "http://www.w3.org/2000/svg";

export const byId = (id) => document.getElementById(id);

export function element(tag, attributes = {}, ...children) {
  return filled(document.createElement(tag), attributes, children);
}

export function drawn(tag, attributes = {}, ...children) {
  return filled(document.createElementNS(SVG, tag), attributes, children);
}

function filled(node, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else if (value === true) node.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) {
      node.setAttribute(name, value);
    }
  }
  node.append(...children.filter((child) => child !== null && child !== undefined));
  return node;
}

export function say(text) {
  // A screen reader speaks only what changes, so the same words twice need a change between.
  const place = byId("said");
  place.textContent = place.textContent === text ? `${text}\u00a0` : text;
}

export function clock(seconds, tenths = false) {
  const whole = tenths ? Math.round(seconds * 10) / 10 : Math.floor(seconds);
  const minutes = Math.floor(whole / 60);
  const rest = (whole - minutes * 60).toFixed(tenths ? 1 : 0);
  return `${String(minutes).padStart(2, "0")}:${rest.padStart(tenths ? 4 : 2, "0")}`;
}

export function parseClock(text) {
  // "12:30.5" or "750.5" as seconds; NaN for anything else.
  const found = /^\s*(?:(\d{1,4}):)?(\d{1,6}(?:\.\d{1,3})?)\s*$/.exec(text);
  return found ? Number(found[1] ?? 0) * 60 + Number(found[2]) : NaN;
}
