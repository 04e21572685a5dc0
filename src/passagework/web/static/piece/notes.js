// The notes of the piece in order, and where they stand in the drawing.

import { ask } from "/static/page.js";
import { drawnNote, idOf, onChange, piece, score } from "./sheet.js";

const NEAR = 24; // pixels around a notehead in which a touch means it: WCAG 2.2, 2.5.8

export const notes = { rows: [], byId: new Map(), bars: [], moments: [] };
let loading = null;

/** Fetch the notes; again after a change of fingers. */
export function load() {
  loading = ask(piece.at("/notes")).then(found => {
    notes.rows = found.notes.map(([id, bar, onset, pitch, name, hand, printed, fingers, why, fixed], at) =>
      ({ id, bar, onset, pitch, name, hand, printed, fingers, why, fixed, at }));
    notes.byId = new Map(notes.rows.map(row => [row.id, row]));
    notes.bars = found.bars;
    notes.moments = [];
    for (const row of notes.rows) {
      const last = notes.moments.at(-1);
      if (last && last[0].bar === row.bar && Math.abs(last[0].onset - row.onset) < 1e-9) last.push(row);
      else notes.moments.push([row]);
    }
    notes.moments.forEach((moment, at) => { moment.sort((a, b) => b.pitch - a.pitch); for (const row of moment) row.moment = at; });
    return notes;
  });
  return loading;
}

export const ready = () => loading || load();
onChange(() => { if (loading) load(); });

export const barName = bar => notes.bars[bar] ?? String(bar + 1);
export const bars = (first, last) => first === last ? `bar ${barName(first)}` : `bars ${barName(first)} to ${barName(last)}`;

/** The box of a notehead on the screen. */
export function headBox(element) {
  return (element.querySelector("use") || element).getBoundingClientRect();
}

/** The note nearest to a point of the screen, if one is near; of a drawing. */
export function nearest(svg, x, y) {
  let best = null, least = NEAR;
  for (const element of svg.querySelectorAll(`g[id]`)) {
    if (!notes.byId.has(idOf(element))) continue;
    const box = headBox(element);
    const far = Math.hypot(Math.max(box.left - x, 0, x - box.right), Math.max(box.top - y, 0, y - box.bottom));
    if (far < least) { least = far; best = element; }
  }
  return best;
}

/** The spot's number, in the margin or beside a ring, that a point of the screen means; "" for none. */
export function numberAt(svg, x, y) {
  for (const mark of svg.querySelectorAll("[data-number]")) {
    if (!mark.querySelector("text")) continue; // a ring: what is inside it can be chosen
    const box = mark.getBoundingClientRect();
    const pad = Math.max(0, (NEAR - Math.min(box.width, box.height)) / 2);
    if (x >= box.left - pad && x <= box.right + pad && y >= box.top - pad && y <= box.bottom + pad) return mark.dataset.number;
  }
  return "";
}

/** The first drawing of a bar. */
export const barField = bar => score.querySelector(`rect.bar[data-bar="${bar}"]`);

export { drawnNote };
