"use strict";
// Shows at once what a title would show after a while, and lets one clip play at a time.
const tip = document.createElement("div");
tip.id = "tip";
tip.hidden = true;
tip.setAttribute("aria-hidden", "true");
document.body.append(tip);
function show(mark, text) {
  const box = mark.getBoundingClientRect();
  tip.textContent = text;
  tip.hidden = false;
  const left = Math.min(box.left, document.documentElement.clientWidth - tip.offsetWidth - 8);
  tip.style.left = Math.max(left, 4) + window.scrollX + "px";
  tip.style.top = box.top + window.scrollY - tip.offsetHeight - 6 + "px";
}
for (const mark of document.querySelectorAll("svg.plot .tip")) {
  const title = mark.querySelector(":scope > title");
  const text = title.textContent;
  title.remove();
  if (mark.matches("a")) mark.setAttribute("aria-label", text);
  mark.addEventListener("pointerenter", () => show(mark, text));
  mark.addEventListener("pointerleave", () => { tip.hidden = true; });
  mark.addEventListener("focus", () => show(mark, text));
  mark.addEventListener("blur", () => { tip.hidden = true; });
}
document.addEventListener("play", (event) => {
  for (const other of document.querySelectorAll("audio")) {
    if (other !== event.target) other.pause();
  }
}, true);
