// Waveforms as SVG, so that the style sheet gives them their colours, on paper too.

import { clock, drawn, element } from "./dom.js";

const WIDTH = 1000;
const STRIP = 60;

// peaks: loudest of each stretch, in thousandths of full scale.
export function outline(peaks, width, height, loudest) {
  const middle = height / 2;
  const step = width / peaks.length;
  const half = (peak) => Math.max(0.5, (peak / loudest) * (middle - 1));
  const above = peaks.map((peak, i) => `${(i * step).toFixed(1)} ${(middle - half(peak)).toFixed(1)}`);
  const below = peaks.map((peak, i) => `${(i * step).toFixed(1)} ${(middle + half(peak)).toFixed(1)}`);
  return `M${above.join("L")}L${below.reverse().join("L")}Z`;
}

export function clipWave(channels, row, lines) {
  const [start, end] = row.clip;
  const x = (seconds) => ((seconds - start) / (end - start)) * WIDTH;
  const height = STRIP * channels.length;
  const loudest = Math.max(50, ...channels.flat());
  const picture = drawn("svg", {
    viewBox: `0 0 ${WIDTH} ${height}`, preserveAspectRatio: "none", role: "img",
    "aria-label": `Sound from ${clock(start, true)} to ${clock(end, true)}; `
      + `the row is from ${clock(row.start, true)} to ${clock(row.end, true)}.`,
  });
  picture.append(drawn("rect", {
    class: "span", x: x(row.start), width: Math.max(3, x(row.end) - x(row.start)), y: 0, height,
  }));
  channels.forEach((peaks, index) => {
    picture.append(drawn("path", {
      class: "sound", d: outline(peaks, WIDTH, STRIP, loudest),
      transform: `translate(0 ${index * STRIP})`,
    }));
  });
  for (const line of lines) {
    picture.append(drawn("rect", {
      class: "speech", x: x(line.start), width: Math.max(1, x(line.end) - x(line.start)),
      y: line.channel * STRIP - 3, height: 3,
    }));
  }
  picture.append(drawn("line", {
    class: "playhead", x1: 0, x2: 0, y1: 0, y2: height, "vector-effect": "non-scaling-stroke",
  }));
  picture.style.height = `${channels.length * (channels.length > 2 ? 2.2 : 3.6)}rem`;
  return picture;
}

// A label for each strip, where there are several.
export function stripLabels(names) {
  return names.length < 2 ? [] : names.map((name, index) => {
    const label = element("span", { class: "strip", "aria-hidden": "true" }, name);
    label.style.top = `${(index / names.length) * 100}%`;
    return label;
  });
}

export function overviewWave(peaks, rows, seconds) {
  const x = (moment) => ((moment / seconds) * WIDTH).toFixed(2);
  const loudest = Math.max(50, ...peaks);
  const marks = (shade, top) => drawn("path", {
    class: `mark ${shade}`, "vector-effect": "non-scaling-stroke",
    d: rows.filter((row) => row.shade === shade).map((row) => `M${x(row.start)} ${top}V48`).join(""),
  });
  return drawn(
    "svg",
    { viewBox: `0 0 ${WIDTH} 48`, preserveAspectRatio: "none", "aria-hidden": "true" },
    drawn("path", { class: "sound", d: outline(peaks, WIDTH, 48, loudest) }),
    marks("unsure", 34), marks("minor", 30), marks("open", 26), marks("grave", 20),
    drawn("rect", { class: "here", x: 0, width: 0, y: 0, height: 48 }),
    drawn("line", { class: "playhead", y1: 0, y2: 48, "vector-effect": "non-scaling-stroke" }),
  );
}

export function placePlayhead(picture, share) {
  const line = picture?.querySelector(".playhead");
  if (!line) return;
  const x = String(Math.min(1, Math.max(0, share)) * WIDTH);
  line.setAttribute("x1", x);
  line.setAttribute("x2", x);
}

export function placeHere(picture, start, end, seconds) {
  const here = picture?.querySelector(".here");
  if (!here) return;
  here.setAttribute("x", (start / seconds) * WIDTH);
  here.setAttribute("width", Math.max(2, ((end - start) / seconds) * WIDTH));
}
