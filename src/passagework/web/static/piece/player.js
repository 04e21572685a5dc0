// Plays the score or a step: tempo, over and over, hands, click, count-in, and the cursor.

import { ask } from "/static/page.js";
import { announce, piece } from "./sheet.js";
import { bars, notes, ready } from "./notes.js";
import { choice } from "./choosing.js";
import { HANDS, Lengths, Pass } from "./lengths.js";
import { knock } from "./clicks.js";
import { Cursor } from "./cursor.js";

const LOOK_EVERY = 100;   // milliseconds between two looks ahead
const CLICKS_AHEAD = 1.5; // seconds: a page in the background looks only once a second
const LEAD = 0.12;        // seconds before the first sound
const SLOWEST = 30;       // percent

const $ = id => document.getElementById(id);
const bar = $("player");

class Player {
  constructor() {
    this.source = { kind: "score" };
    this.state = "still";
    this.passes = [];
    this.left = null; // where it was left, as a share of the whole, to go on from there
    this.wish = 0; // counts starts, so that a late answer to an old one is let go
  }

  // what is to be played

  get address() {
    const { source } = this;
    const fields = source.kind === "score"
      ? { tempo: $("tempo").value, repeats: $("repeats").checked }
      : { spot: source.spot, exercise: source.exercise, step: source.step, tempo: this.beats };
    return part => piece.at(part, fields);
  }

  /** Beats a minute of a step at the tempo that is set. */
  get beats() { return Math.max(10, Math.round(this.source.tempo * $("tempo").value / 100)); }

  async playStep(step) {
    this.stop();
    this.left = null;
    this.source = { kind: "step", ...step };
    $("tempo").value = 100;
    $("playing").textContent = step.title;
    for (const hand of HANDS) $(`hear-${hand}`).checked = true;
    this.settle();
    await this.play();
  }

  async playBars(first, last) {
    this.backToScore();
    await ready();
    $("from-bar").value = first;
    $("to-bar").value = last;
    this.settle();
    await this.play();
  }

  /** Back from a step, or from some bars, to the whole score. */
  backToScore() {
    this.stop();
    this.left = null;
    this.source = { kind: "score" };
    if ($("from-bar").options.length) {
      $("from-bar").selectedIndex = 0;
      $("to-bar").selectedIndex = $("to-bar").options.length - 1;
    }
    this.settle();
  }

  /** What the controls say and which of them there are. */
  settle() {
    const score = this.source.kind === "score";
    for (const part of bar.querySelectorAll(".score-only")) part.hidden = !score;
    const whole = score && $("from-bar").selectedIndex <= 0 && $("to-bar").selectedIndex === $("to-bar").options.length - 1;
    if (score) $("playing").textContent = whole ? "the score" : bars(Number($("from-bar").value), Number($("to-bar").value));
    $("back-to-score").hidden = whole;
    if (this.state === "still") this.say("still");
    const share = Number($("tempo").value);
    $("tempo-words").textContent = score
      ? share === 100 ? "as marked" : `${share} percent` : `${this.beats} a minute`;
  }

  // playing

  /** Play, or stop; what was stopped goes on from its bar. */
  async toggle() {
    if (this.state === "still") return this.play();
    this.leave();
    this.stop();
  }

  /** Remember where it is. */
  leave() {
    const moment = this.state === "playing" ? this.moment : null;
    if (moment !== null) this.left = moment / this.timeline.duration;
  }

  /** From where to begin: the bar in which it was left, else the beginning of the stretch. */
  begins(timeline) {
    const moment = (this.left ?? 0) * timeline.duration;
    this.left = null;
    if (moment <= this.from || moment >= this.to) return this.from;
    const bar = timeline.bars.findLast(([start]) => start <= moment + 1e-6);
    return Math.max(this.from, bar?.[0] ?? this.from);
  }

  async play() {
    const wish = ++this.wish;
    this.say("coming");
    try {
      this.context ??= this.open();
      const resumed = this.context.resume();
      const address = this.address;
      const timeline = await ask(address("/timeline"));
      await resumed;
      if (wish !== this.wish) return;
      this.timeline = timeline;
      this.lengths = new Lengths(this.context, timeline, address);
      [this.from, this.to] = await this.stretch(timeline);
      const first = this.begins(timeline);
      await this.lengths.first(first);
      if (wish !== this.wish) return;
      this.cursor = this.source.kind === "score" || !this.source.music
        ? Cursor.ofScore(timeline) : Cursor.ofStep(timeline, this.source.music);
      this.begin(first);
    } catch (error) {
      if (wish === this.wish) { this.stop(); this.trouble(error.message); }
    }
  }

  open() {
    const context = new AudioContext({ latencyHint: "interactive" });
    const master = context.createGain();
    master.gain.value = 0.9;
    // Both hands at their loudest would pass full scale.
    const limit = context.createDynamicsCompressor();
    limit.threshold.value = -3; limit.ratio.value = 12; limit.attack.value = 0.002; limit.release.value = 0.15; limit.knee.value = 2;
    this.meter = context.createAnalyser();
    this.meter.fftSize = 2048;
    master.connect(limit).connect(this.meter).connect(context.destination);
    this.gains = Object.fromEntries([...HANDS, "click", "lead"].map(name => {
      const gain = context.createGain();
      gain.connect(master);
      return [name, gain];
    }));
    this.context = context;
    this.balance(0);
    return context;
  }

  balance(over = 0.02) {
    if (!this.context) return;
    const set = (name, on) => this.gains[name].gain.setTargetAtTime(on ? 1 : 0, this.context.currentTime, over || 0.001);
    for (const hand of HANDS) set(hand, $(`hear-${hand}`).checked);
    set("click", $("hear-click").checked);
    set("lead", true);
  }

  /** From which second to which: of the score the bars that are set, of a step all. */
  async stretch(timeline) {
    if (this.source.kind !== "score") return [0, timeline.duration];
    const first = Number($("from-bar").value || 0), last = Number($("to-bar").value || notes.bars.length - 1);
    const start = timeline.bars.findIndex(([, index]) => index === first);
    if (start < 0) return [0, timeline.duration];
    // With repeats the bars may come by several times: to the last of them when the piece is played to its end.
    let end = timeline.bars.length;
    if (last < notes.bars.length - 1) {
      end = timeline.bars.findIndex(([, index], at) => at >= start && index === last) + 1;
      if (end <= 0) end = timeline.bars.length;
    }
    return [timeline.bars[start][0], timeline.bars[end]?.[0] ?? timeline.duration];
  }

  begin(first) {
    bar.dataset.moment = "";
    const now = this.context.currentTime + LEAD;
    const lead = $("count-in").checked ? this.timeline.lead : [];
    const before = lead.length ? lead[0][0] : 0;
    this.leads = lead.map(([early, , accent]) => knock(this.context, this.gains.lead, now + before - early, accent));
    this.clicked = -1;
    this.clickTones = new Set();
    this.passes = [new Pass(this.lengths, this.gains, first, this.to, now + before)];
    this.say("playing");
    this.look();
    this.timer = setInterval(() => this.look(), LOOK_EVERY);
    this.frame = requestAnimationFrame(() => this.draw());
  }

  /** Look ahead: sound, clicks, the next pass. */
  look() {
    const now = this.context.currentTime;
    const last = this.passes.at(-1);
    if ($("again").checked && last.ends - now < 2) {
      this.passes.push(new Pass(this.lengths, this.gains, this.from, this.to, last.ends));
    }
    for (const pass of this.passes) {
      pass.fill(error => this.trouble(error.message));
      this.click(pass, now);
    }
    while (this.passes.length > 1 && this.passes[0].ends + 2 < now) this.passes.shift();
    if (now > this.passes.at(-1).ends + 0.15) this.stop();
  }

  click(pass, now) {
    pass.clicks ??= this.timeline.beats.filter(([start]) => start >= pass.from - 1e-3 && start < pass.to - 1e-3)
      .map(([start, , accent]) => [pass.starts + start - pass.from, accent]);
    while (pass.clicks.length && pass.clicks[0][0] < now + CLICKS_AHEAD) {
      const [when, accent] = pass.clicks.shift();
      if (when < now - 0.02) continue;
      const tone = knock(this.context, this.gains.click, Math.max(when, now), accent);
      this.clickTones.add(tone);
      tone.onended = () => this.clickTones.delete(tone);
    }
  }

  /** The second of the timeline that is heard now; null before the first. */
  get moment() {
    const now = this.context.currentTime - (this.context.outputLatency || 0);
    const pass = this.passes.findLast(p => p.starts <= now) ?? null;
    return pass ? Math.min(pass.to, pass.from + now - pass.starts) : null;
  }

  draw() {
    if (this.state !== "playing") return;
    const moment = this.moment;
    if (moment !== null) this.cursor.show(moment);
    bar.dataset.moment = moment === null ? "" : moment.toFixed(2);
    bar.dataset.level = this.level().toFixed(4);
    this.frame = requestAnimationFrame(() => this.draw());
  }

  /** The loudest sample of the last moment. */
  level() {
    const samples = new Float32Array(this.meter.fftSize);
    this.meter.getFloatTimeDomainData(samples);
    return samples.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
  }

  stop() {
    this.wish++;
    clearInterval(this.timer);
    cancelAnimationFrame(this.frame);
    for (const pass of this.passes) pass.stop();
    for (const tone of [...(this.leads ?? []), ...(this.clickTones ?? [])]) try { tone.stop(); } catch { /* over */ }
    this.passes = [];
    this.cursor?.clear();
    if (this.state !== "still") this.say("still");
  }

  /** Start again where it is, with what was changed. */
  async restart() {
    if (this.state === "still") return;
    this.leave();
    this.stop();
    await this.play();
  }

  say(state) {
    this.state = state;
    bar.dataset.state = state;
    const left = state === "still" && this.left !== null;
    $("from-start").hidden = !left;
    $("play").textContent = left ? "Go on" : { still: "Play", coming: "One moment", playing: "Stop" }[state];
    $("play").setAttribute("aria-pressed", String(state === "playing"));
    this.trouble("");
  }

  trouble(words) {
    $("player-trouble").textContent = words;
    $("player-trouble").hidden = !words;
  }
}

export const player = new Player();

/** Play from what is chosen in the score to the end. */
export async function playFrom() {
  const now = choice();
  if (!now) return;
  player.backToScore();
  await ready();
  $("from-bar").value = now.first;
  $("to-bar").value = now.whole && now.last > now.first ? now.last : notes.bars.length - 1;
  player.settle();
  await player.play();
}

export async function setUp() {
  bar.hidden = false;
  $("play").addEventListener("click", () => player.toggle());
  $("from-start").addEventListener("click", () => { player.left = null; player.play(); });
  $("player-more").addEventListener("click", () => {
    const row = $("player-choices");
    row.hidden = !row.hidden;
    $("player-more").setAttribute("aria-expanded", String(!row.hidden));
    $("player-more").textContent = row.hidden ? "More" : "Less";
  });
  $("back-to-score").addEventListener("click", () => player.backToScore());
  $("play-from").addEventListener("click", playFrom);
  $("tempo").addEventListener("input", () => player.settle());
  $("tempo").addEventListener("change", () => player.restart());
  $("repeats").addEventListener("change", () => player.restart());
  for (const name of ["hear-right", "hear-left", "hear-click"]) $(name).addEventListener("change", () => player.balance());
  player.settle();
  await ready();
  for (const name of ["from-bar", "to-bar"]) {
    $(name).replaceChildren(...notes.bars.map((label, at) => new Option(label, at)));
    $(name).addEventListener("change", () => { player.settle(); player.restart(); });
  }
  $("to-bar").selectedIndex = notes.bars.length - 1;
  player.settle();
}

/** Change the tempo by some percent. */
export function faster(percent) {
  const tempo = $("tempo");
  tempo.value = Math.max(SLOWEST, Number(tempo.value) + percent);
  player.settle();
  announce($("tempo-words").textContent);
  clearTimeout(faster.timer);
  faster.timer = setTimeout(() => player.restart(), 500);
}

/** Turn a choice of the player on or off. */
export function toggle(name, words) {
  const box = $(name);
  box.checked = !box.checked;
  box.dispatchEvent(new Event("change"));
  announce(`${words} ${box.checked ? "on" : "off"}`);
}

