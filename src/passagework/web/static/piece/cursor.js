// The moving cursor: the notes that sound, and a line that goes with them through the drawing.

import { bringUp, drawnNote, still } from "./sheet.js";
import { headBox } from "./notes.js";

const SVG = "http://www.w3.org/2000/svg";

export class Cursor {
  /** `find` gives the drawing of a note by its id; `follow` keeps the line in sight. */
  constructor(timeline, find, follow) {
    Object.assign(this, { timeline, find, follow });
    this.lit = new Map();
    this.line = null;
    this.last = null;
    this.moments = [];
    for (const [start, , id] of timeline.notes) {
      const before = this.moments.at(-1);
      if (before && start - before.start < 0.012) before.ids.push(id);
      else this.moments.push({ start, ids: [id] });
    }
  }

  static ofScore(timeline) { return new Cursor(timeline, drawnNote, true); }

  static ofStep(timeline, music) {
    const known = new Map();
    const find = id => {
      if (!known.has(id)) known.set(id, [...music.querySelectorAll("g[id]")].find(g => g.id.endsWith(`-${id}`)) ?? null);
      return known.get(id);
    };
    return new Cursor(timeline, find, true);
  }

  /** Show the moment `now`, in seconds of the timeline. */
  show(now) {
    const sounding = new Map();
    for (const [start, end, id] of this.near(now)) if (start <= now && now < Math.max(end, start + 0.1)) sounding.set(id, true);
    for (const [id, element] of this.lit) if (!sounding.has(id)) { element.classList.remove("sounds"); this.lit.delete(id); }
    for (const id of sounding.keys()) {
      if (this.lit.has(id)) continue;
      const element = this.find(id);
      if (element) { element.classList.add("sounds"); this.lit.set(id, element); }
    }
    this.move(now);
  }

  /** Notes that may sound now: a window into the list, which is in order of starts. */
  near(now) {
    const list = this.timeline.notes;
    let low = 0, high = list.length;
    while (low < high) { const middle = (low + high) >> 1; if (list[middle][0] <= now) low = middle + 1; else high = middle; }
    return list.slice(Math.max(0, low - 48), low);
  }

  move(now) {
    let at = this.moments.length - 1;
    while (at > 0 && this.moments[at].start > now) at--;
    const here = this.place(this.moments[at]);
    if (!here) return;
    const after = this.place(this.moments[at + 1]);
    let x = here.x;
    if (after && after.svg === here.svg && after.x > here.x) {
      const span = this.moments[at + 1].start - this.moments[at].start;
      x += (after.x - here.x) * Math.min(1, Math.max(0, (now - this.moments[at].start) / span));
    }
    this.draw(here.svg, still.matches ? here.x : x);
  }

  /** Where a moment stands: its drawing, and the left edge of its first notehead in that drawing's units. */
  place(moment) {
    if (!moment) return null;
    if (moment.place?.svg.isConnected) return moment.place;
    for (const id of moment.ids) {
      const element = this.find(id);
      const svg = element?.closest("svg");
      if (!svg) continue;
      const box = headBox(element);
      const frame = svg.getBoundingClientRect();
      if (!frame.width) continue;
      const view = svg.viewBox.baseVal;
      moment.place = { svg, x: view.x + (box.left + box.width / 2 - frame.left) * view.width / frame.width };
      return moment.place;
    }
    return null;
  }

  draw(svg, x) {
    if (!this.line || this.line.ownerSVGElement !== svg) {
      this.line?.remove();
      this.line = document.createElementNS(SVG, "path");
      this.line.setAttribute("class", "cursor");
      svg.append(this.line);
      if (this.follow && this.last !== svg) this.keepInSight(svg);
      this.last = svg;
    }
    const view = svg.viewBox.baseVal;
    this.line.setAttribute("d", `M${x.toFixed(0)} ${view.y}v${view.height}`);
  }

  keepInSight(svg) {
    const box = svg.getBoundingClientRect();
    if (box.top < 70 || box.bottom > innerHeight - 130) bringUp(svg.closest("figure") ?? svg, "center");
  }

  clear() {
    for (const element of this.lit.values()) element.classList.remove("sounds");
    this.lit.clear();
    this.line?.remove();
    this.line = null;
    this.last = null;
  }
}
