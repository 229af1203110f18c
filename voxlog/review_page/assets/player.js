// One sound at a time: a row's clip, or the whole recording from some moment on. `moment` is
// always counted from the start of the recording.

import { byId, clock, say } from "./dom.js";

const SLOW = 0.7;
const STEP_S = 2;

export const NO_SOUND_HERE = "The recording ends before this moment.";

// A log may go on after its recording, where the audio was cut off.
export function hasClip(row) {
  return row.clip[0] < row.clip[1];
}

export class Player {
  constructor(store, onMoment) {
    this.run = store.run;
    this.names = store.channelNames;
    this.onMoment = onMoment;
    this.audio = byId("audio");
    this.channel = 0;
    this.rate = 1;
    this.source = "";
    this.offset = 0;
    this.isWhole = false;
    this.row = null;
    this.audio.addEventListener("play", () => this.changed());
    this.audio.addEventListener("pause", () => this.changed());
    for (const name of ["waiting", "playing"]) {
      this.audio.addEventListener(name, () => this.changed(name === "waiting"));
    }
    this.audio.addEventListener("loadedmetadata", () => this.reach());
    this.audio.addEventListener("seeked", () => this.tell());
    this.audio.addEventListener("error", () => say("This sound cannot be played."));
    this.chooseChannels();
  }

  get moment() {
    if (this.wanted !== undefined) return this.wanted;
    return this.offset + (this.source ? this.audio.currentTime : 0);
  }

  get isPlaying() {
    return !this.audio.paused && !this.audio.ended;
  }

  chooseChannels() {
    const select = byId("channel");
    const names = this.names;
    for (const [value, name] of [[0, "all"], ...names.map((name, i) => [i + 1, name])]) {
      select.append(new Option(name, String(value)));
    }
    byId("channel-label").hidden = names.length < 2;
    select.addEventListener("change", () => this.setChannel(Number(select.value)));
    for (const id of ["play", "run-play", "scrub", "back", "forth", "slow"]) {
      byId(id).disabled = !this.run.has_sound;
    }
  }

  setChannel(channel) {
    const count = this.run.channels.length;
    if (count < 2) return;
    this.channel = (channel + count + 1) % (count + 1);
    byId("channel").value = String(this.channel);
    say(`Channel ${byId("channel").selectedOptions[0].text}`);
    const { moment, isPlaying } = this;
    if (this.isWhole) this.seek(moment, isPlaying);
    else if (this.row) this.playRow(this.row, moment - this.offset, isPlaying);
  }

  stop() {
    this.audio.pause();
  }

  arrive(row) {
    // The page shows another row: whatever sounds belongs to the one before.
    this.stop();
    this.row = row;
    this.source = "";
    this.isWhole = false;
    this.wanted = undefined;
    this.offset = row.clip[0];
    this.tell();
  }

  toggleRow() {
    if (this.isPlaying) this.stop();
    else if (this.row) this.playRow(this.row);
  }

  toggleWhole() {
    if (this.isPlaying) this.stop();
    else this.seek(this.moment, true);
  }

  playRow(row, from = 0, isPlaying = true) {
    if (!hasClip(row)) {
      say(NO_SOUND_HERE);
      return;
    }
    const [start, end] = row.clip.map((seconds) => Math.round(seconds * 1000));
    this.isWhole = false;
    this.load(`clip/${this.channel}/${start}-${end}.wav`, row.clip[0], from, isPlaying);
  }

  seek(moment, isPlaying = this.isPlaying) {
    const inside = Math.min(Math.max(0, moment), this.run.seconds);
    this.isWhole = true;
    this.load(`audio/${this.channel}.wav`, 0, inside, isPlaying);
  }

  step(direction) {
    const moment = this.moment + direction * STEP_S;
    if (this.isWhole || !this.row || !this.source) this.seek(moment);
    else this.playRow(this.row, Math.max(0, moment - this.offset), this.isPlaying);
  }

  load(source, offset, from, isPlaying) {
    if (!this.run.has_sound) return;
    this.offset = offset;
    this.wanted = offset + from;
    if (this.source !== source) {
      this.source = source;
      this.audio.src = source;
    } else if (this.audio.readyState > 0) this.reach();
    this.audio.playbackRate = this.rate;
    if (isPlaying) this.audio.play().catch(() => {});
    else this.audio.pause();
    this.tell();
  }

  reach() {
    if (this.wanted === undefined) return;
    this.audio.currentTime = this.wanted - this.offset;
    this.wanted = undefined;
    this.tell();
  }

  slower() {
    this.rate = this.rate === 1 ? SLOW : 1;
    this.audio.playbackRate = this.rate;
    byId("slow").setAttribute("aria-pressed", String(this.rate !== 1));
    say(this.rate === 1 ? "Usual speed" : "Slower");
  }

  changed(isWaiting = false) {
    const sounds = this.isPlaying;
    byId("play-text").textContent = sounds ? (isWaiting ? "Loading" : "Stop") : "Play";
    byId("run-play-text").textContent = sounds ? "Stop" : "Play on";
    this.tell();
    cancelAnimationFrame(this.frame);
    if (sounds) this.frame = requestAnimationFrame(() => this.keepTelling());
  }

  keepTelling() {
    this.tell();
    if (this.isPlaying) this.frame = requestAnimationFrame(() => this.keepTelling());
  }

  tell() {
    const { moment } = this;
    byId("moment").textContent = clock(moment);
    const scrub = byId("scrub");
    if (document.activeElement !== scrub || this.isPlaying) scrub.value = String(moment);
    scrub.setAttribute("aria-valuetext", clock(moment));
    this.onMoment(moment);
  }
}
